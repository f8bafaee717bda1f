"""Light kept on disk: the same answer, a new key for a new house, and no harm from a bad file."""

from __future__ import annotations

import dataclasses

import numpy as np

from lightplan.house.kept import kept_house_light, key
from lightplan.shipped import samples_folder
from lightplan.site.models import Place
from lightplan.site.read import read_site

HOUSE = read_site(samples_folder() / "quillfen").house("frame")


def test_kept_light_is_the_traced_one_and_bad_files_are_traced_again(tmp_path):
    traced = kept_house_light(HOUSE, tmp_path)
    (path,) = tmp_path.iterdir()
    kept = kept_house_light(HOUSE, tmp_path)
    place = Place((0.5, 1.5), (2.0, 9.0))
    sun = (np.array([70.0, 40.0]), np.array([120.0, 200.0]))
    assert np.array_equal(kept.beam(*sun, place), traced.beam(*sun, place))
    assert kept.diffuse() == traced.diffuse()
    path.write_bytes(path.read_bytes()[:500])
    assert kept_house_light(HOUSE, tmp_path).diffuse() == traced.diffuse()
    assert path.stat().st_size > 500


def test_a_folder_that_cant_be_written_costs_nothing_but_time(tmp_path):
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    assert 0 < kept_house_light(HOUSE, tmp_path / "file").diffuse() < 1


def test_key_follows_what_light_depends_on():
    assert key(HOUSE) == key(dataclasses.replace(HOUSE, name="Other", dirt_loss=0.3, heat_to_c=30.0))
    assert key(HOUSE) != key(dataclasses.replace(HOUSE, length_m=HOUSE.length_m + 1))
    assert key(HOUSE) != key(dataclasses.replace(HOUSE, opaque=frozenset({"end-a"})))
