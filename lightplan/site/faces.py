"""Faces of a house by compass or by side: which of them "north" means follows from the ridge."""

from __future__ import annotations

from lightplan.site.schema_house import COMPASS

# Outward normal of each face, clockwise from the ridge's own direction [degrees]: left and right
# are seen looking along the ridge, end-a is the end behind you.
NORMALS = {"end-b": 0, "side-right": 90, "end-a": 180, "side-left": 270}
COMPASS_DEG = {name: number * 90 for number, name in enumerate(COMPASS)}


def face_towards(direction: str, ridge_azimuth_deg: float) -> str | None:
    """The face nearest a compass direction, or None where two are equally near."""
    wanted = COMPASS_DEG[direction] - ridge_azimuth_deg
    off = {face: abs((normal - wanted + 180) % 360 - 180) for face, normal in NORMALS.items()}
    face = min(off, key=lambda name: off[name])
    return face if off[face] < 45 else None


def opaque_faces(
    named: tuple[str, ...], *, ends: bool, ridge_azimuth_deg: float, faces_deg: float | None
) -> frozenset[str]:
    """All opaque faces: those named, both ends where they are, the high wall of a lean-to."""
    found = {face_towards(name, ridge_azimuth_deg) or name if name in COMPASS_DEG else name for name in named}
    if ends:
        found |= {"end-a", "end-b"}
    if faces_deg is not None:
        found.add(high_wall(faces_deg, ridge_azimuth_deg))
    return frozenset(found)


def high_wall(faces_deg: float, ridge_azimuth_deg: float) -> str:
    """The side of a lean-to's wall: opposite to the side it faces."""
    return "side-left" if (faces_deg - ridge_azimuth_deg) % 360 < 180 else "side-right"
