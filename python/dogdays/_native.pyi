import os
from collections.abc import Callable
from typing import Any, final

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Course",
    "DogdaysError",
    "Run",
    "Weather",
    "__version__",
    "catalogue",
    "set_threads",
    "time_s",
]

__version__: str

class DogdaysError(ValueError): ...

@final
class Course:
    def table(self, every_s: float) -> tuple[list[str], NDArray[np.float64], NDArray[np.float64]]: ...

@final
class Weather:
    @property
    def notes(self) -> list[str]: ...
    @staticmethod
    def read(
        paths: list[str | os.PathLike[str]],
        fill: str | None,
        fill_up_to: str,
        time_zone: str | None,
        wrap: bool,
    ) -> Weather: ...
    def names(self) -> list[str]: ...

@final
class Run:
    @property
    def text(self) -> str: ...
    @property
    def file(self) -> str: ...
    @property
    def folder(self) -> os.PathLike[str] | None: ...
    @property
    def models(self) -> os.PathLike[str] | None: ...
    @property
    def is_demo(self) -> bool: ...
    @staticmethod
    def load(path: str | os.PathLike[str], models: str | os.PathLike[str] | None) -> Run: ...
    @staticmethod
    def parse(
        text: str, file: str, folder: str | os.PathLike[str] | None, models: str | os.PathLike[str] | None
    ) -> Run: ...
    @staticmethod
    def demo() -> Run: ...
    def with_settings(self, settings: list[tuple[str, str | None]]) -> Run: ...
    def with_text(self, text: str) -> Run: ...
    def about(
        self,
    ) -> tuple[
        str, str, str, str, float, list[str], list[str], list[os.PathLike[str]], list[str]
    ]: ...
    def check(
        self,
        samples: int | None,
        seed: int,
        remedies: bool | None,
        with_sensitivity: bool,
        explain: bool,
    ) -> tuple[str, Course]: ...
    def compare(self, samples: int | None, seed: int) -> str: ...
    def size_fan(self, fans: list[str], samples: int | None, seed: int) -> str: ...
    def season(
        self,
        weather: Weather | None,
        every_s: float,
        at: str | None,
        least_flow: bool,
        arrangements: bool,
        progress: Callable[[int, int], Any] | None,
    ) -> str: ...
    def calibrate(
        self,
        files: list[str | os.PathLike[str]],
        begins: str | None,
        columns: list[str],
        readings: list[str],
        others: list[Run],
        parameters: list[str],
    ) -> tuple[str, str | None, list[str]]: ...
    def network(self) -> str: ...

def set_threads(threads: int) -> None: ...
def catalogue(name: str | None, models: str | os.PathLike[str] | None) -> tuple[str, list[str]]: ...
def time_s(name: str, text: str) -> float: ...
