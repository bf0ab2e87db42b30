"""Makes kalman.json: what filterpy's KalmanFilter finds of two parameters whose readings have errors that hang together.

pip install filterpy==2.0.0 numpy; python kalman.py > kalman.json

State: the parameters a and b, which stay what they are, and the drift of the thermometer, an Ornstein-Uhlenbeck
process at irregular times; a row shows a + b f(t) + drift, with no other error. What the filter says of a and b after
the last row is what least squares say that know both beliefs and the drift.
"""
import json

import numpy as np
from filterpy.kalman import KalmanFilter

rng = np.random.default_rng(20261126)
deviation, lasts_s = 0.4, 5400.0
times = np.cumsum(rng.uniform(300.0, 2400.0, size=40))
shape = 1.0 - np.exp(-times / 9000.0)
drift = np.zeros(len(times))
drift[0] = deviation * rng.standard_normal()
for k in range(1, len(times)):
    kept = np.exp(-(times[k] - times[k - 1]) / lasts_s)
    drift[k] = kept * drift[k - 1] + deviation * np.sqrt(1 - kept**2) * rng.standard_normal()
rows = 0.7 - 1.2 * shape + drift
believed = [1.0, 2.0]

f = KalmanFilter(dim_x=3, dim_z=1)
f.x = np.zeros((3, 1))
f.P = np.diag([believed[0] ** 2, believed[1] ** 2, deviation**2])
f.R = np.array([[1e-12]])
for k, row in enumerate(rows):
    if k > 0:
        kept = np.exp(-(times[k] - times[k - 1]) / lasts_s)
        f.F = np.diag([1.0, 1.0, kept])
        f.Q = np.diag([0.0, 0.0, deviation**2 * (1 - kept**2)])
        f.predict()
    f.H = np.array([[1.0, shape[k], 1.0]])
    f.update(row)

print(json.dumps({
    "deviation": deviation,
    "lasts_s": lasts_s,
    "believed": believed,
    "times_s": times.tolist(),
    "shape": shape.tolist(),
    "rows": rows.tolist(),
    "mean": f.x[:2, 0].tolist(),
    "covariance": f.P[:2, :2].tolist(),
}, indent=1))
