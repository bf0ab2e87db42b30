"""Adds to sobol_demo.json what SALib makes of the results in it. Needs PyPI SALib 1.6: python sobol_demo.py"""

import json
import pathlib

import numpy
from SALib.analyze import sobol

file = pathlib.Path(__file__).with_suffix(".json")
data = json.loads(file.read_text())
keys = data["keys"]
problem = {"num_vars": len(keys), "names": keys, "bounds": [[0.0, 1.0]] * len(keys)}
# Its layout: of each sample the first set's, each value of the second's, the second set's.
rows = [
    [data["a"][k], *(mixed[k] for mixed in data["mixed"]), data["b"][k]]
    for k in range(len(data["a"]))
]
found = sobol.analyze(
    problem, numpy.array(rows).ravel(), calc_second_order=False, num_resamples=10, seed=1
)
data["S1"] = [float(v) for v in found["S1"]]
data["ST"] = [float(v) for v in found["ST"]]
file.write_text(json.dumps(data, indent=2) + "\n")
