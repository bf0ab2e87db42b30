"""A run, and the questions asked of it."""

from __future__ import annotations

import datetime as dt
import json
import os
from collections.abc import Callable, Iterable, Mapping
from typing import Any, overload

from . import _native, given
from .given import Path
from .results import Calibration, Check, Comparison, FanSizing, Season, Years
from .weather import Weather

#: How many samples make a band unless told otherwise, and which; as the program's `--samples` and `--seed`.
SAMPLES = 256
SEED = 1


class Run:
    """A valid run: a machine, a material, a job, a room, from a run file or its like.

    A run never changes: `with_settings` makes another. Runs can be pickled and are equal if their text is.
    """

    __slots__ = ("_native",)

    def __init__(self, native: _native.Run) -> None:
        if not isinstance(native, _native.Run):
            raise _native.DogdaysError("a run is made with Run.from_file, from_text, from_dict or demo")
        self._native = native

    @classmethod
    def from_file(cls, path: Path, *, models: Path | None = None) -> Run:
        """Reads a run file. `models` is a folder of machines, materials and so on of your own.

        Raises `DogdaysError` with everything that is wrong with it and with the files it names.
        """
        return cls(_native.Run.load(path, models))

    @classmethod
    def from_text(
        cls, text: str, *, name: str = "run", folder: Path | None = None, models: Path | None = None
    ) -> Run:
        """Reads the text of a run file; `name` stands in messages.

        Files that it names, and a folder `my-models`, are looked for in `folder`, the current one by default.
        """
        return cls(_native.Run.parse(given.text("text", text), name, folder or os.getcwd(), models))

    @classmethod
    def from_dict(
        cls,
        run: Mapping[str, Any],
        *,
        name: str = "run",
        folder: Path | None = None,
        models: Path | None = None,
    ) -> Run:
        """Makes a run of a dictionary with the tables and keys of a run file, values with their units as text.

        Messages show it as the lines of a run file.
        """
        return cls.from_text(given.run_file(run), name=name, folder=folder, models=models)

    @classmethod
    def demo(cls) -> Run:
        """The built-in demo; shop, machine and weather are invented."""
        return cls(_native.Run.demo())

    def with_settings(self, settings: Mapping[str, Any]) -> Run:
        """The run with other values: keys of a run file, as in `{"room.temperature": "31 degC"}`; `None` takes a key
        or a table out. What a value replaces makes way, as in a `[[compare]]` table."""
        each = []
        for key, value in given.mapping("settings", settings).items():
            key = given.text(f"settings: {key!r}", key)
            each.append((key, None if value is None else given.toml(value, key)))
        return Run(self._native.with_settings(each))

    @property
    def text(self) -> str:
        """The text of the run file."""
        return self._native.text

    @property
    def name(self) -> str:
        """The run's name."""
        return self._native.about()[0]

    @property
    def machine(self) -> str:
        """The machine's name."""
        return self._native.about()[1]

    @property
    def material(self) -> str:
        """The material's name."""
        return self._native.about()[2]

    @property
    def start(self) -> dt.datetime:
        """Local date and time of the start."""
        return dt.datetime.fromisoformat(self._native.about()[3])

    @property
    def duration_h(self) -> float:
        """How long it takes, h."""
        return self._native.about()[4]

    @property
    def warnings(self) -> list[str]:
        """Hints about values that are legal but odd."""
        return self._native.about()[5]

    @property
    def guessed(self) -> list[str]:
        """The keys of values that nobody gave."""
        return self._native.about()[6]

    @property
    def files(self) -> list[os.PathLike[str]]:
        """The files it was read from."""
        return self._native.about()[7]

    @property
    def series(self) -> list[str]:
        """How each weather series that it names was understood."""
        return self._native.about()[8]

    def check(
        self,
        *,
        samples: int | None = SAMPLES,
        seed: int = SEED,
        remedies: bool | None = None,
        sensitivity: bool = False,
        explain: bool = False,
    ) -> Check:
        """Will it hold? As `dogdays check`.

        `verdict` is the best estimate; `surely_holds` says whether it holds as surely as the run requires, and
        `samples=None` leaves that out. Remedies are looked for where the run does not hold, which takes many runs; with
        `True` always, with `False` never. `sensitivity` takes some 5,000 runs.
        """
        text, course = self._native.check(given.samples(samples), given.whole("seed", seed), remedies, sensitivity, explain)
        found = Check.from_dict(json.loads(text))
        # No fields: they are no part of what is found, and stay in this process.
        object.__setattr__(found, "_course", course)
        object.__setattr__(found, "_start", self._native.about()[3])
        return found

    def compare(self, *, samples: int | None = SAMPLES, seed: int = SEED) -> Comparison:
        """Arrangements side by side, as `dogdays compare`: those of `[[compare]]` tables, or the usual ones."""
        return Comparison.from_dict(json.loads(self._native.compare(given.samples(samples), given.whole("seed", seed))))

    def size_fan(
        self, fans: Path | Iterable[Path] = (), *, samples: int | None = SAMPLES, seed: int = SEED
    ) -> FanSizing:
        """Which fan is enough? As `dogdays size-fan`; `fans` are names of the catalogue or curve files, all by default."""
        found = self._native.size_fan(
            given.texts("fans", fans), given.samples(samples), given.whole("seed", seed)
        )
        return FanSizing.from_dict(json.loads(found))

    @overload
    def season(
        self,
        weather: None = None,
        *,
        starts: str | dt.timedelta = "1 h",
        at: str | dt.datetime | None = None,
        least_flow: bool = False,
        arrangements: bool = True,
        progress: Callable[[int, int], Any] | None = None,
    ) -> Season: ...

    @overload
    def season(
        self,
        weather: Weather | Path | Iterable[Path],
        *,
        starts: str | dt.timedelta = "1 h",
        at: str | dt.datetime | None = None,
        least_flow: bool = False,
        arrangements: bool = True,
        progress: Callable[[int, int], Any] | None = None,
    ) -> Season | Years: ...

    def season(
        self,
        weather: Weather | Path | Iterable[Path] | None = None,
        *,
        starts: str | dt.timedelta = "1 h",
        at: str | dt.datetime | None = None,
        least_flow: bool = False,
        arrangements: bool = True,
        progress: Callable[[int, int], Any] | None = None,
    ) -> Season | Years:
        """When is it safe to start? As `dogdays season`; with several files or a folder, `Years`.

        `weather` is a `Weather`, a file, several, or a folder; without it, the run's own series. `at` asks for the
        next starts from a local moment on (`arrangements[0].next_starts`). `progress` is called with how many starts are
        done, and of how many; what it raises ends the season.
        """
        every_s = given.seconds("starts", starts)
        if at is not None:
            at = given.moment("at", at)
        if weather is not None and not isinstance(weather, Weather):
            weather = Weather.read(weather)
        found = json.loads(
            self._native.season(
                None if weather is None else weather._native,
                every_s,
                at,
                least_flow,
                arrangements,
                progress,
            )
        )
        is_one = "starts_table" in found
        return Season.from_dict(found) if is_one else Years.from_dict(found)

    def calibrate(
        self,
        log: Path | Iterable[Path] = (),
        *,
        log_begins: dt.datetime | str | None = None,
        columns: str | Iterable[str] = (),
        readings: str | Iterable[str] = (),
        others: Iterable[Run] = (),
        parameters: str | Iterable[str] = (),
    ) -> Calibration:
        """Fits the machine to what thermometers showed, as `dogdays calibrate`.

        `log_begins` says when logs began whose rows count from there, `"Mon 19:00"`, or `"0 h"` for with the run;
        `columns` says what columns of a log hold, as in `"T1 = feeder motor"`; `readings` are single ones, as in
        `"feeder motor = 49 degC at Wed 15:20"`; `others` are other runs of the same machine with `[[log]]` or
        `[[reading]]` tables; `parameters` are the keys to fit, those that matter most by default.
        """
        others = list(others)
        for other in others:
            if not isinstance(other, Run):
                raise _native.DogdaysError(f"others: {other!r} is no run; give Run.from_file(...)")
        text, file, notes = self._native.calibrate(
            given.paths("log", log),
            None if log_begins is None else given.moment("log_begins", log_begins),
            given.texts("columns", columns),
            given.texts("readings", readings),
            [other._native for other in others],
            given.texts("parameters", parameters),
        )
        found = Calibration.from_dict(json.loads(text))
        object.__setattr__(found, "_machine_file", file)
        object.__setattr__(found, "_notes", tuple(notes))
        return found

    def network(self) -> dict[str, Any]:
        """The thermal network, as `dogdays check --export-network` writes it."""
        network: dict[str, Any] = json.loads(self._native.network())
        return network

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Run):
            return NotImplemented
        return self._key() == other._key()

    def __hash__(self) -> int:
        return hash(self._key())

    def _key(self) -> tuple[Any, ...]:
        n = self._native
        return (n.is_demo, n.text, n.file, _absolute(n.folder), _absolute(n.models))

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, self._key()

    def __repr__(self) -> str:
        return f"<Run {self.name!r}: {self.material} on {self.machine}, {self.duration_h:g} h from {self.start}>"


def _absolute(folder: Path | None) -> str | None:
    # Another process may have another current folder.
    return None if folder is None else os.path.abspath(folder or os.curdir)


def _again(is_demo: bool, text: str, name: str, folder: Path | None, models: Path | None) -> Run:
    if is_demo:
        return Run(_native.Run.demo().with_text(text))
    return Run.from_text(text, name=name, folder=folder, models=models)
