"""Would the demo's part hold in a heat wave, and how warm may the room be?

Run it as `python examples/heat_wave.py [PICTURE.png]`; it needs matplotlib. Shop, machine and weather are invented.
"""

# %% A run: the built-in demo, or your own with dogdays.Run.from_file("my.toml")
import sys

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt

import dogdays

run = dogdays.Run.demo()
found = run.check()
print(f"{run.name}: {found.verdict}, margin {found.margin_K:.1f} K")
assert found.margin is not None
print(f"nine times in ten between {found.margin.p05_K:.1f} K and {found.margin.p95_K:.1f} K")

# %% The same in rooms that stay equally warm: where is the end of it?
rooms_degC = list(range(22, 37, 2))
margins_K = {}
for material in ("pla", "petg"):
    margins_K[material] = [
        run.with_settings({"material.name": material, "room": None, "room.temperature": f"{room} degC"})
        .check(samples=None, remedies=False)
        .margin_K
        for room in rooms_degC
    ]
    print(material, [round(margin, 1) for margin in margins_K[material]])

# %% A picture: the course of the run, and the margin over the room
courses = found.trajectory("10 min")
figure, (left, right) = plt.subplots(1, 2, figsize=(11, 4.2), layout="constrained")
left.plot(courses.elapsed_h, courses["filament_drive_gear_degC"], color="#b3362b", label="filament in the drive gear")
left.plot(courses.elapsed_h, courses["air_top_degC"], color="#3b6ea5", label="air at the top")
left.axhline(found.peak.limit_degC, color="black", linestyle="--", linewidth=1, label="its limit")
left.set(xlabel="hours from the start", ylabel="temperature in °C", title="The demo's week")
left.legend(fontsize="small")
for (material, margins), color, mark in zip(margins_K.items(), ("#b3362b", "#3b6ea5"), "os"):
    right.plot(rooms_degC, margins, color=color, marker=mark, label=material.upper())
right.axhline(found.required_margin_K, color="black", linestyle="--", linewidth=1, label="margin asked for")
right.set(xlabel="room in °C", ylabel="margin in K", title="How warm may the room be?")
right.legend(fontsize="small")
picture = sys.argv[1] if len(sys.argv) > 1 else "heat-wave.png"
figure.savefig(picture, dpi=120)
print(f"wrote {picture}")
