"""The same houses under a general-purpose ray tracer (Radiance, through pyradiance from the registry).

Nothing of the model is used here. Light that comes straight through the panes is counted exactly, ray by
ray; the rest (mirrored inside, sent back by floor, walls and ground) is traced: the same rays with all
reflections, less their straight part. By sky window of 2.5° × 7.5° around each direction, all round at
the zenith. Definitions as in the README of the reference houses.

`python -m tests.house.ray_traced` writes tests/authorities/house_light_radiance.csv anew (about 10 minutes).
"""

from __future__ import annotations

import csv
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.stats import qmc

from tests.house.traced_houses import GLASS, HOUSES, TracedHouse

ELEVATIONS = (10, 15, 20, 30, 45, 60, 75, 89)
AZIMUTHS = tuple(range(0, 360, 15))
HALF_WINDOW_DEG = (1.25, 3.75)
ZENITH_WINDOW_DEG = 87.75
HEIGHT_M = 0.8
PASS = 0.98012  # of light left after one way through the glass: normal transmittance 0.900 at n = 1.52
INDEX = 1.52
FLOOR, GROUND, SOLID = 0.2, 0.2, 0.5
GROUND_REACHES_M = 400.0
RAYS_AT_ONCE = 2**19
BINS = 7 * 24 + 2  # the windows, the zenith's, everything else
REFERENCE = Path(__file__).parents[1] / "authorities" / "house_light_radiance.csv"

# Number of the window that a sky direction lies in.
WINDOWS = """
mod(n,d)=n-floor(n/d)*d;
el=asin(Dz)*180/PI;
turn=mod(atan2(Dx,Dy)*180/PI+360,360);
near=floor(turn/15+.5);
off=turn-near*15;
azimuth=if(near-23.5,0,near);
level(e)=if(1.25-(el-e),if(el-e+1.25,1,-1),-1);
band=if(level(10),0,if(level(15),1,if(level(20),2,if(level(30),3,if(level(45),4,if(level(60),5,if(level(75),6,-1)))))));
inside=if(3.75-off,if(off+3.75,1,-1),-1);
bin=if(el-87.75,168,if(inside,if(band+.5,band*24+azimuth,169),169));
"""


@dataclass(frozen=True)
class Traced:
    """Shares of outdoor light, area mean at 0.8 m: under a uniform sky, and by (elevation, azimuth)."""

    diffuse: float
    diffuse_straight: float
    straight: np.ndarray
    interreflected: np.ndarray


def trace(traced: TracedHouse, rays: int) -> Traced:
    starts = _rays(traced, rays)
    whole = _all_light(traced, starts)
    straight = np.bincount(_window(starts[:, 3:]), _straight(traced, starts), BINS) / rays
    low, high = (np.radians(np.array(ELEVATIONS[:-1]) + sign * HALF_WINDOW_DEG[0]) for sign in (-1, 1))
    sizes = (np.sin(high) ** 2 - np.sin(low) ** 2) * HALF_WINDOW_DEG[1] / 180
    rest = (whole - straight)[:168].reshape(7, 24) / sizes[:, None]
    zenith = (whole - straight)[168] / np.cos(np.radians(ZENITH_WINDOW_DEG)) ** 2
    rest = np.vstack([rest, np.full(24, zenith)])
    exact = np.array([[_straight_from(traced, e, a) for a in AZIMUTHS] for e in ELEVATIONS])
    if traced.symmetric:
        rest, exact = _quarter(rest), _quarter(exact)
    return Traced(float(whole.sum()), float(straight.sum()), exact, rest)


def _quarter(values: np.ndarray) -> np.ndarray:
    """Mean of the four quarters that are alike, azimuths 0 to 90."""
    n = np.arange(7)
    return (values[:, n] + values[:, 12 - n] + values[:, (12 + n) % 24] + values[:, (24 - n) % 24]) / 4


def _rays(traced: TracedHouse, count: int) -> np.ndarray:
    """(count, 6) starts over the clear floor and directions even by cosine over the dome."""
    u = qmc.Sobol(4, seed=1).random(count)
    floor = [traced.outline[0][0], traced.outline[-1][0]]
    for a, b in zip(traced.outline[:-1], traced.outline[1:], strict=True):  # the outline at bench height
        if min(a[1], b[1]) <= HEIGHT_M <= max(a[1], b[1]) and a[1] != b[1]:
            floor[0 if b[1] > a[1] else 1] = a[0] + (b[0] - a[0]) * (HEIGHT_M - a[1]) / (b[1] - a[1])
    radius, turn = np.sqrt(u[:, 2]), 2 * np.pi * u[:, 3]
    x, y = floor[0] + u[:, 0] * (floor[1] - floor[0]), u[:, 1] * traced.length_m
    way = [radius * np.sin(turn), radius * np.cos(turn), np.sqrt(1 - radius**2)]
    return np.stack([x, y, np.full(count, HEIGHT_M), *way], axis=1)


def _window(way: np.ndarray) -> np.ndarray:
    """The same windows as WINDOWS."""
    elevation = np.degrees(np.arcsin(way[:, 2]))
    turn = np.degrees(np.arctan2(way[:, 0], way[:, 1])) % 360
    near = np.floor(turn / 15 + 0.5).astype(int)
    found = np.full(len(way), 169)
    aligned = np.abs(turn - near * 15) <= HALF_WINDOW_DEG[1]
    for band, level in enumerate(ELEVATIONS[:-1]):
        on = aligned & (np.abs(elevation - level) <= HALF_WINDOW_DEG[0])
        found[on] = band * 24 + near[on] % 24
    found[elevation > ZENITH_WINDOW_DEG] = 168
    return found


def _passes(cosine: np.ndarray) -> np.ndarray:
    """One pane of glass by Fresnel, mean of both polarisations."""
    c = np.clip(np.abs(cosine), 1e-9, 1)
    inner = np.sqrt(1 - (1 - c * c) / INDEX**2)
    left = PASS ** (1 / inner)
    total = np.zeros_like(c)
    for r in (
        ((c - INDEX * inner) / (c + INDEX * inner)) ** 2,
        ((INDEX * c - inner) / (INDEX * c + inner)) ** 2,
    ):
        total += (1 - r) ** 2 * left / (1 - (r * left) ** 2) / 2
    return total


def _straight(traced: TracedHouse, rays: np.ndarray) -> np.ndarray:
    """Share of each ray that goes straight out through every polygon it crosses."""
    x, y, z, dx, dy, dz = rays.T
    light = np.ones(len(rays))
    with np.errstate(divide="ignore", invalid="ignore"):
        for (ax, az), (bx, bz), made in zip(
            traced.outline[:-1], traced.outline[1:], traced.panes, strict=True
        ):
            ex, ez = bx - ax, bz - az
            slant = dx * ez - dz * ex
            far, share = ((ax - x) * ez - (az - z) * ex) / slant, ((ax - x) * dz - (az - z) * dx) / slant
            along = y + far * dy
            hit = (far > 1e-9) & (share >= 0) & (share < 1) & (along >= 0) & (along <= traced.length_m)
            light[hit] *= _passes(slant[hit] / np.hypot(ex, ez)) if made == GLASS else 0
        for end, made in zip((0.0, traced.length_m), traced.ends, strict=True):
            far = (end - y) / dy
            px, pz = x + far * dx, z + far * dz
            hit = (far > 1e-9) & np.isfinite(far) & _holds(traced.outline, px, pz)
            light[hit] *= _passes(dy[hit]) * (pz[hit] > traced.knee_m) if made == GLASS else 0
    return light


def _holds(outline: tuple[tuple[float, float], ...], x: np.ndarray, z: np.ndarray) -> np.ndarray:
    """Even-odd rule."""
    inside = np.zeros(len(x), dtype=bool)
    for (ax, az), (bx, bz) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if az != bz:
            inside ^= ((az > z) != (bz > z)) & (x < ax + (z - az) * (bx - ax) / (bz - az))
    return inside


def _straight_from(traced: TracedHouse, elevation: float, azimuth: float) -> float:
    """Straight light from one direction, mean of 4096 points of the floor."""
    starts = _rays(traced, 4096)
    up, turn = np.radians(elevation), np.radians(azimuth)
    starts[:, 3:] = np.cos(up) * np.sin(turn), np.cos(up) * np.cos(turn), np.sin(up)
    return float(_straight(traced, starts).mean())


def _all_light(traced: TracedHouse, rays: np.ndarray) -> np.ndarray:
    """(BINS,) light by sky window with all reflections, traced by Radiance a part of the rays at a time."""
    parts = np.array_split(rays, max(1, len(rays) // RAYS_AT_ONCE))
    return np.mean([_traced_by_radiance(traced, part) for part in parts], axis=0)


def _traced_by_radiance(traced: TracedHouse, rays: np.ndarray) -> np.ndarray:
    import pyradiance

    programs = Path(pyradiance.__file__).parent
    paths = {"PATH": f"{programs / 'bin'}:{os.environ['PATH']}", "RAYPATH": f".:{programs / 'lib'}"}
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        (work / "house.rad").write_text(_scene(traced))
        (work / "windows.cal").write_text(WINDOWS)
        run = {"cwd": work, "env": os.environ | paths, "check": True, "capture_output": True}
        (work / "house.oct").write_bytes(subprocess.run(["oconv", "house.rad"], **run).stdout)
        settings = "-h -V- -ff -ab 4 -ad 4 -as 0 -lr 16 -lw 1e-4 -st 0 -f windows.cal"
        bins = ["-b", "bin", "-bn", str(BINS), "-m", "sky"]
        command = ["rcontrib", *settings.split(), "-c", str(len(rays)), *bins, "house.oct"]
        found = subprocess.run(command, input=rays.astype("<f4").tobytes(), **run).stdout
    return np.frombuffer(found, "<f4").reshape(BINS, 3)[:, 0].astype(float)


def _scene(traced: TracedHouse) -> str:
    """Axes: x across, y along the ridge, z up."""
    lines = [f"void glass {GLASS} 0 0 4 {PASS} {PASS} {PASS} {INDEX}"]
    lines += [
        f"void plastic {name} 0 0 5 {r} {r} {r} 0 0"
        for name, r in (("wall", SOLID), ("floor", FLOOR), ("ground", GROUND))
    ]
    length, outline = traced.length_m, traced.outline
    for (ax, az), (bx, bz), made in zip(outline[:-1], outline[1:], traced.panes, strict=True):
        lines.append(_polygon(made, [(ax, 0, az), (bx, 0, bz), (bx, length, bz), (ax, length, az)]))
    left, right, knee = outline[0][0], outline[-1][0], traced.knee_m
    for y, made in zip((0, length), traced.ends, strict=True):
        over = [(x, y, z) for x, z in outline if z > knee]
        lines.append(_polygon(made, [(left, y, knee), *over, (right, y, knee)]))
        if knee:
            foot = [(left, y, 0), (left, y, knee), (right, y, knee), (right, y, 0)]
            lines.append(_polygon("wall", foot))
    lines.append(_polygon("floor", [(left, 0, 0), (right, 0, 0), (right, length, 0), (left, length, 0)]))
    far = GROUND_REACHES_M
    for x1, y1, x2, y2 in (
        (-far, -far, left, far),
        (right, -far, far, far),
        (left, -far, right, 0),
        (left, length, right, far),
    ):
        lines.append(_polygon("ground", [(x1, y1, 0), (x2, y1, 0), (x2, y2, 0), (x1, y2, 0)]))
    return "\n".join([*lines, "void glow sky 0 0 4 1 1 1 0", "sky source dome 0 0 4 0 0 1 180", ""])


def _polygon(made: str, corners: list[tuple[float, float, float]]) -> str:
    numbers = " ".join(f"{value:.6f}" for corner in corners for value in corner)
    return f"{made} polygon pane 0 0 {3 * len(corners)} {numbers}"


def write_reference(rays: int) -> None:
    with REFERENCE.open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["house", "elevation_deg", "azimuth_from_ridge_deg", "straight", "interreflected"])
        for name, make in HOUSES.items():
            found = trace(make(), rays)
            rest = f"{found.diffuse - found.diffuse_straight:.5f}"
            rows.writerow([name, "uniform", "", f"{found.diffuse_straight:.5f}", rest])
            for e, exact, inner in zip(ELEVATIONS, found.straight, found.interreflected, strict=True):
                for a, one, two in zip(AZIMUTHS[: len(exact)], exact, inner, strict=True):
                    rows.writerow([name, e, a, f"{one:.5f}", f"{two:.5f}"])
            print(name, round(found.diffuse, 5), file=sys.stderr)


if __name__ == "__main__":
    write_reference(2**22)
