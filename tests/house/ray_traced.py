"""The same houses under a general-purpose ray tracer (Radiance, through pyradiance from the registry).

Nothing of the model is used here. Light that comes straight through the panes is counted exactly, ray by
ray; the rest (mirrored inside, sent back by floor, walls and ground) is traced: the same rays with all
reflections, less their straight part. By sky window of 2.5° × 7.5° around each direction, all round at
the zenith. Definitions as in the README of the reference houses.

`python -m tests.house.ray_traced` writes tests/authorities/house_light_radiance.csv anew (20 minutes).
"""

from __future__ import annotations

import csv
import math
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.stats import qmc

from tests.house.traced_houses import (
    FILMS,
    GLASS,
    HAZY_FILM,
    HAZY_GLASS,
    HOUSES,
    TWIN_WALL,
    WALL,
    TracedHouse,
)

ELEVATIONS = (10, 15, 20, 30, 45, 60, 75, 89)
AZIMUTHS = tuple(range(0, 360, 15))
HALF_WINDOW_DEG = (1.25, 3.75)
ZENITH_WINDOW_DEG = 87.75
HEIGHT_M = 0.8
FLOOR, GROUND, SOLID = 0.2, 0.2, 0.5
GROUND_REACHES_M = 400.0
HAZE_GAP_M = 0.002
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

# What a pane of one layer or two like ones passes and mirrors (Fresnel, Bouguer, sums of reflections, both
# polarisations carried through). n index, a left after one way straight through a layer, k layers, h haze.
# A clear pane is one surface. A hazy one is two, 2 mm apart: the outer takes what depends on the angle
# outside, the inner mirrors on its inside and scatters with the strength of the angle inside. So light
# scattered in goes as passed(in) × passed(out), which neither makes nor loses light, where Radiance alone
# would spread it evenly from every angle.
PANES = """
co=if(abs(Rdot)-1e-6,abs(Rdot),1e-6);
inner(n)=sqrt(1-(1-co*co)/(n*n));
sq(x)=x*x;
rs(n)=sq((co-n*inner(n))/(co+n*inner(n)));
rp(n)=sq((n*co-inner(n))/(n*co+inner(n)));
left(n,a)=a^(1/inner(n));
t(r,l)=l*sq(1-r)/(1-sq(r*l));
m(r,l)=r*(1+l*t(r,l));
tt(r,l,k)=if(k-1.5,sq(t(r,l))/(1-sq(m(r,l))),t(r,l));
mm(r,l,k)=if(k-1.5,m(r,l)+sq(t(r,l))*m(r,l)/(1-sq(m(r,l))),m(r,l));
pass(n,a,k)=(tt(rs(n),left(n,a),k)+tt(rp(n),left(n,a),k))/2;
mirror(n,a,k)=(mm(rs(n),left(n,a),k)+mm(rp(n),left(n,a),k))/2;
passed=pass(arg(10),arg(11),arg(12));
mirrored=mirror(arg(10),arg(11),arg(12));
mirrored_outside=if(Rdot,mirrored,0);
mirrored_inside=if(Rdot,0,mirrored);
goes_on=arg(13);
strength=if(Rdot,1,pass(arg(1),arg(2),arg(3))/arg(4));
"""


@dataclass(frozen=True)
class Pane:
    """index; share left after one way straight through a layer; layers; share of haze."""

    index: float
    left: float
    layers: int = 1
    haze: float = 0.0

    def passes(self, cosine: np.ndarray) -> np.ndarray:
        """All that goes through, by Fresnel, mean of both polarisations."""
        c = np.clip(np.abs(cosine), 1e-9, 1)
        inner = np.sqrt(1 - (1 - c * c) / self.index**2)
        left = self.left ** (1 / inner)
        total = np.zeros_like(c)
        for r in (
            ((c - self.index * inner) / (c + self.index * inner)) ** 2,
            ((self.index * c - inner) / (self.index * c + inner)) ** 2,
        ):
            one = (1 - r) ** 2 * left / (1 - (r * left) ** 2)
            back = r * (1 + left * one)
            total += (one if self.layers == 1 else one**2 / (1 - back**2)) / 2
        return total

    @property
    def of_even(self) -> float:
        """Share passed of light even from all directions."""
        c = (np.arange(20_000) + 0.5) / 20_000
        return float((self.passes(c) * 2 * c).mean())

    def in_scene(self, name: str) -> list[str]:
        """Radiance's materials: `name`, or `name` inside and `name`-outer."""
        numbers = f"{self.index} {self.left} {self.layers}"
        if not self.haze:
            return [_brtd(name, "mirrored", "passed", f"{numbers} 1", 0.0)]
        return [
            _brtd(f"{name}-outer", "mirrored_outside", "passed", f"{numbers} 1", 0.0),
            f"void brightfunc {name}-strength 2 strength panes.cal 0 4 {numbers} {self.of_even}",
            _brtd(
                name,
                "mirrored_inside",
                "goes_on",
                f"{numbers} {1 - self.haze}",
                self.haze,
                f"{name}-strength",
            ),
        ]


def _brtd(name: str, mirrors: str, passes: str, numbers: str, scatters: float, pattern: str = "void") -> str:
    functions = f"10 {3 * f'{mirrors} '}{3 * f'{passes} '}0 0 0 panes.cal"
    return f"{pattern} BRTDfunc {name} {functions} 0 13 0 0 0 0 0 0 {3 * f'{scatters} '}{numbers}"


# 0.98012 and 0.97508 leave 0.900 passed square on at 1.52 and 1.50
PANES_OF = {
    GLASS: Pane(1.52, 0.98012),
    FILMS: Pane(1.50, 0.97508, layers=2),
    TWIN_WALL: Pane(1.585, 0.98020, layers=2),
    HAZY_FILM: Pane(1.50, 0.97508, haze=0.5),
    HAZY_GLASS: Pane(1.52, 0.98012, haze=0.75),
}


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


def _goes_on(made: str, cosine: np.ndarray) -> np.ndarray:
    """Share that goes straight on through a pane; nothing through a wall."""
    if made == WALL:
        return np.zeros_like(cosine)
    return (1 - PANES_OF[made].haze) * PANES_OF[made].passes(cosine)


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
            light[hit] *= _goes_on(made, slant[hit] / np.hypot(ex, ez))
        for end, made in zip((0.0, traced.length_m), traced.ends, strict=True):
            far = (end - y) / dy
            px, pz = x + far * dx, z + far * dz
            hit = (far > 1e-9) & np.isfinite(far) & _holds(traced.outline, px, pz)
            light[hit] *= _goes_on(made, dy[hit]) * (pz[hit] > traced.knee_m)
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
        (work / "panes.cal").write_text(PANES)
        run = {"cwd": work, "env": os.environ | paths, "check": True, "capture_output": True}
        (work / "house.oct").write_bytes(subprocess.run(["oconv", "house.rad"], **run).stdout)
        settings = f"-h -V- -ff {SETTINGS} -f windows.cal"
        bins = ["-b", "bin", "-bn", str(BINS), "-m", "sky"]
        command = ["rcontrib", *settings.split(), "-c", str(len(rays)), *bins, "house.oct"]
        found = subprocess.run(command, input=rays.astype("<f4").tobytes(), **run).stdout
    return np.frombuffer(found, "<f4").reshape(BINS, 3)[:, 0].astype(float)


def _scene(traced: TracedHouse) -> str:
    """Axes: x across, y along the ridge, z up."""
    lines = [f"void glass {GLASS} 0 0 4 {3 * f'{PANES_OF[GLASS].left} '}{PANES_OF[GLASS].index}"]
    for name, pane in PANES_OF.items():
        lines += pane.in_scene(name) if name != GLASS else []
    lines += [
        f"void plastic {name} 0 0 5 {r} {r} {r} 0 0"
        for name, r in (("wall", SOLID), ("floor", FLOOR), ("ground", GROUND))
    ]
    length, outline = traced.length_m, traced.outline
    for (ax, az), (bx, bz), made in zip(outline[:-1], outline[1:], traced.panes, strict=True):
        lines.append(_polygon(made, [(ax, 0, az), (bx, 0, bz), (bx, length, bz), (ax, length, az)]))
        if made != WALL and PANES_OF[made].haze:
            out = HAZE_GAP_M / math.hypot(bx - ax, bz - az)
            x, z = -out * (bz - az), out * (bx - ax)
            corners = [(ax, 0, az), (bx, 0, bz), (bx, length, bz), (ax, length, az)]
            lines.append(_polygon(f"{made}-outer", [(cx + x, y, cz + z) for cx, y, cz in corners]))
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


RECIPE = """\
# Light in invented houses (tests/house/traced_houses.py): area means 0.8 m up over light outdoors.
# Made by Radiance's rcontrib through pyradiance {version}: python -m tests.house.ray_traced tells how.
# {rays} rays a house, a quarter of it under haze (Sobol, seed 1), {settings}.
# straight: panes crossed at each ray's own angle, 4096 points. interreflected: all other light, mean over a
# window of 2.5 by 7.5 degrees of sky (from 87.75 degrees up for 89). Elevation "uniform": the whole sky.
# Houses that are not symmetric: every second azimuth.
"""
SETTINGS = "-ab 4 -ad 4 -as 0 -lr 16 -lw 1e-4 -st 0"
COLUMNS = ("house", "elevation_deg", "azimuth_from_ridge_deg", "straight", "interreflected")


def rows_of(name: str, rays: int) -> list[tuple[object, ...]]:
    made = HOUSES[name]()
    is_hazy = any(PANES_OF[pane].haze for pane in made.panes if pane != WALL)
    found = trace(made, rays // 4 if is_hazy else rays)
    rest = f"{found.diffuse - found.diffuse_straight:.4f}"
    rows: list[tuple[object, ...]] = [(name, "uniform", "", f"{found.diffuse_straight:.4f}", rest)]
    for e, exact, inner in zip(ELEVATIONS, found.straight, found.interreflected, strict=True):
        every = list(zip(AZIMUTHS, exact, inner, strict=False))
        rows += [
            (name, e, a, f"{one:.4f}", f"{two:.4f}") for a, one, two in every[:: 1 if made.symmetric else 2]
        ]
    return rows


def write_reference(rays: int) -> None:
    import pyradiance

    with REFERENCE.open("w", newline="", encoding="utf-8") as file:
        file.write(RECIPE.format(version=pyradiance.__version__, rays=rays, settings=SETTINGS))
        table = csv.writer(file, lineterminator="\n")
        table.writerow(COLUMNS)
        for name in HOUSES:
            table.writerows(rows_of(name, rays))
            file.flush()
            print(name, file=sys.stderr)


if __name__ == "__main__":
    write_reference(2**22)
