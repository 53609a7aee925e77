"""All that a mechanism may look at when it plants, and the ways of planting that several share."""

from dataclasses import dataclass

import numpy as np

from tests.trip_mechanisms.clock import HOUR, Bools, Floats, Rng
from tests.trip_mechanisms.gate import Drive, Life
from tests.trip_mechanisms.model import Plant, Span
from tests.trip_mechanisms.site import Site
from tests.trip_mechanisms.traffic import Vehicle, Walk
from tests.trip_mechanisms.weather import Weather


@dataclass
class Scene:
    site: Site
    weather: Weather
    vehicles: list[Vehicle]
    outages: tuple[Span, ...]
    walks: list[Walk]
    background: Floats
    drive: Drive
    life: Life | None = None

    @property
    def rng(self) -> Rng:
        return self.site.rng

    def days(self) -> Floats:
        return np.arange(self.site.days, dtype=float)

    def minutes(self) -> Floats:
        return np.arange(self.site.begin, self.site.end, 60.0)


def steady(scene: Scene, per_day: float) -> Floats:
    """At any time alike."""
    site = scene.site
    many = scene.rng.poisson(per_day * (site.end - site.begin) / 86400.0)
    return np.sort(scene.rng.uniform(site.begin, site.end, many))


def by_rate(scene: Scene, t: Floats, weight: Floats, **figures: float | str) -> Plant:
    """Trips in even steps of time, as many in each as its weight says, 70 to 260 in all."""
    step = t[1] - t[0]
    wanted = scene.rng.uniform(70, 260)
    many = scene.rng.poisson(weight * wanted / max(weight.sum(), 1e-9))
    times = np.repeat(t, many) + scene.rng.uniform(0, step, many.sum())
    return Plant(np.sort(times), runs(t, weight > 0), figures)


def runs(t: Floats, inside: Bools) -> tuple[Span, ...]:
    """The stretches of even steps that lie inside."""
    step = float(t[1] - t[0])
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    return tuple((float(t[a]), float(t[b - 1]) + step) for a, b in edges.reshape(-1, 2))


def in_windows(
    scene: Scene, begins: Floats, length: float, each: tuple[float, float], **figures: float | str
) -> Plant:
    """A few trips in every window, at any moment of it."""
    mean = scene.rng.uniform(*each)
    many = scene.rng.poisson(mean, len(begins))
    times = np.repeat(begins, many) + scene.rng.uniform(0, length, many.sum())
    windows = tuple((float(b), float(b) + length) for b in begins)
    return Plant(np.sort(times), windows, {**figures, "window_s": round(length), "trips_a_window": round(mean, 2)})


def hours(scene: Scene, inside: Bools, **figures: float | str) -> Plant:
    """Alike in all hours of the weather in which something holds."""
    return by_rate(scene, scene.weather.t, inside.astype(float), **figures)


def shifted(values: Floats, by: int) -> Floats:
    """What was so many hours ago."""
    return np.concatenate([np.full(by, values[0]), values[: len(values) - by]]) if by else values


def clock_text(second: float) -> str:
    return f"{int(second // HOUR) % 24:02d}:{int(second % HOUR // 60):02d}"
