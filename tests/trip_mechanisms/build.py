"""From a mechanism and a seed to a log with its truth."""

import zlib
from collections import Counter

import numpy as np

from tests.trip_mechanisms.clock import DAY
from tests.trip_mechanisms.gate import drive_of, live, shake_of
from tests.trip_mechanisms.model import Made, Mechanism, Options, Plant, Truth
from tests.trip_mechanisms.rows import Row, rows_of
from tests.trip_mechanisms.scene import Scene, steady
from tests.trip_mechanisms.site import Site, settle
from tests.trip_mechanisms.traffic import outages_of, vehicles_of, walks_of
from tests.trip_mechanisms.weather import weather_of
from tests.trip_mechanisms.write import log_text, neighbour_text, weather_text

LOG, WEATHER, NEIGHBOUR = "trips.csv", "weather.csv", "neighbour.csv"
LEAST_TRIPS, LEAST_DAYS, ATTEMPTS = 25, 4, 60


def made(mechanism: Mechanism, seed: int) -> Made:
    """Thrown again while too little of the mechanism shows for anybody to find it."""
    for attempt in range(ATTEMPTS):
        rng = np.random.default_rng([zlib.crc32(mechanism.name.encode()), seed, attempt])
        scene = _scene(mechanism, settle(mechanism.wish, rng))
        plant = _planted(mechanism, scene)
        rows = rows_of(scene, plant)
        if mechanism.null or _shows(scene.site, rows):
            return _told(mechanism, seed, scene, plant, rows)
    raise AssertionError(f"{mechanism.name} {seed}: never shows")


def _scene(mechanism: Mechanism, site: Site) -> Scene:
    weather, outages = weather_of(site), outages_of(site)
    scene = Scene(site, weather, vehicles_of(site), outages, walks_of(site, outages), np.zeros(0), drive_of(site.rng))
    scene.background = steady(scene, float(site.rng.uniform(*mechanism.wish.background)))
    return scene


def _planted(mechanism: Mechanism, scene: Scene) -> Plant:
    """The gate moves for trips that were planted before, where the sensor opens it."""
    plant = Plant() if mechanism.from_gate else mechanism.plant(scene)
    asked = [(v.asked, max(v.trips, default=v.asked)) for v in scene.vehicles]
    if scene.site.acts:
        asked += [(float(t), float(t)) for t in np.concatenate([scene.background, plant.times])]
    scene.life = live(asked, scene.drive, shake_of(scene.rng, mechanism.shake), scene.rng)
    return mechanism.plant(scene) if mechanism.from_gate else plant


def _shows(site: Site, rows: list[Row]) -> bool:
    times = np.array([r.t for r in rows if r.kind == "planted"])
    days = np.unique((site.clock.wall(times) - site.first) // DAY)
    others = sum(r.kind == "background" for r in rows)
    return len(times) >= max(LEAST_TRIPS, others) and len(days) >= LEAST_DAYS


def _told(mechanism: Mechanism, seed: int, s: Scene, plant: Plant, rows: list[Row]) -> Made:
    text, doubled = log_text(s.site, rows, plant.reading.heading if plant.reading else None)
    files = {LOG: text}
    if s.site.weather:
        files[WEATHER] = weather_text(s.site, s.weather)
    if plant.neighbour is not None:
        files[NEIGHBOUR] = neighbour_text(s.site, plant.neighbour.tolist())
    options = _options(s.site, rows, plant, files)
    return Made(mechanism.name, seed, files, options, _truth(mechanism, seed, s, plant, rows, text, doubled))


def _truth(m: Mechanism, seed: int, s: Scene, plant: Plant, rows: list[Row], text: str, doubled: int) -> Truth:
    counts = dict(Counter(r.kind for r in rows))
    counts |= {"doubled": doubled, "walks": len(s.walks), "outages": len(s.outages), "days": s.site.days}
    counts |= {"cut": int(not text.endswith("\n")), "rows": len(rows)}
    planted = tuple(r.t for r in rows if r.kind == "planted")
    span = (s.site.begin, s.site.end)
    return Truth(
        m.name, seed, m.family, m.near, m.tempting, m.confounder,
        plant.figures, counts, planted, plant.windows, s.outages, span,
    )  # fmt: skip


ROLES = {
    "vehicle": "open", "genuine": "trip", "late": "trip", "walk": "trip", "background": "trip", "planted": "trip",
    "move": "move", "closed": "closed", "service": "service", "power": "power", "status": "ignore",
}  # fmt: skip


def _options(site: Site, rows: list[Row], plant: Plant, files: dict[str, str]) -> Options:
    roles = {r.word: ROLES[r.kind] for r in rows}
    words = {"closed": "move", "service": "ignore", "power": "ignore"}
    named = {"time": "time", "event": "word", "sensor": "source"}
    headings = {k: site.layout.heading(v) for k, v in named.items()}
    return Options(
        zone=site.clock.zone,
        dates=site.layout.dates,
        words={w: words.get(r, r) for w, r in roles.items()},
        roles=roles,
        columns={k: h for k, h in headings.items() if h},
        weather=WEATHER if WEATHER in files else None,
        moves=NEIGHBOUR if NEIGHBOUR in files else None,
        position=(site.latitude, site.longitude) if site.told else None,
        look=_look(site, plant),
    )


def _look(site: Site, plant: Plant) -> float | None:
    """Where the device looks: at the sun, far from it, or anywhere where no sun is planted."""
    if site.wish.look not in {"known", "off"}:
        return None
    if "azimuth" not in plant.figures:
        return float(site.rng.integers(360))
    off = (
        site.rng.uniform(-4, 4) if site.wish.look == "known" else site.rng.choice([-1, 1]) * site.rng.uniform(60, 150)
    )
    return round(float(plant.figures["azimuth"]) + float(off)) % 360
