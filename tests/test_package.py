"""The wheel holds what a bare machine needs: every package, the templates, fonts, samples and tables."""

from __future__ import annotations

import fnmatch
import re
import sys
import tomllib

import pytest

from lightplan.site.sample_copy import copy_sample, sample_names
from tests.conftest import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
SETUPTOOLS = PROJECT["tool"]["setuptools"]
FOLDERS = SETUPTOOLS["package-dir"]
OWN_FILES = ("lightplan.templates", "lightplan.sample_sites", "lightplan.tables")
# made beside the inputs by runs of the program, and git-ignored
NOT_SHIPPED = ("*/sheets/*", "*/cache/*", "*.db", "*.db-*", "*.lock", "*__pycache__*", "*.py", "*.swp")


# come with a dependency and are part of its interface: the first two with pydantic, the last with Jinja2
BROUGHT = {"pydantic_core", "annotated_types", "markupsafe"}


LATE = ("cluster", "keyring")  # extras of the program itself: only what needs them imports them


def folder_of(package: str):
    return ROOT / FOLDERS.get(package, package.replace(".", "/"))


def test_every_folder_of_modules_is_listed():
    there = {
        ".".join(path.parent.relative_to(ROOT).parts) for path in (ROOT / "lightplan").rglob("__init__.py")
    }
    assert there | set(FOLDERS) == set(SETUPTOOLS["packages"])
    for package in SETUPTOOLS["packages"]:
        assert (folder_of(package) / "__init__.py").is_file()


def test_no_module_lies_in_a_folder_that_is_not_a_package():
    assert not [p for p in (ROOT / "lightplan").rglob("*.py") if not (p.parent / "__init__.py").exists()]


@pytest.mark.parametrize("package", OWN_FILES)
def test_every_file_of_theirs_is_shipped(package):
    folder = folder_of(package)
    names = [p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()]
    meant = [n for n in names if not any(fnmatch.fnmatch(n, pattern) for pattern in NOT_SHIPPED)]
    shipped = {
        p.relative_to(folder).as_posix()
        for pattern in SETUPTOOLS["package-data"][package]
        for p in folder.glob(pattern)
    }
    assert meant
    assert not set(meant) - shipped, "package-data leaves out files"


def test_everything_imported_from_outside_is_asked_for():
    """A bare install has the run-time dependencies and nothing of the extra `test`."""
    from tests.test_arrows import IMPORTS

    asked = names_of(PROJECT["project"]["dependencies"])
    extras = PROJECT["project"]["optional-dependencies"]
    late = {name for extra in LATE for name in names_of(extras[extra])}
    outside = {(found.imported.split(".")[0], found.late) for found in IMPORTS}
    bare = {name for name, is_late in outside if not (is_late and name in late)}
    assert bare - set(sys.stdlib_module_names) - {"lightplan"} - BROUGHT <= asked


def names_of(wanted: list[str]) -> set[str]:
    return {re.split(r"[><=\[ ]", one)[0].replace("-", "_").lower() for one in wanted}


def test_the_script_is_lightplan_and_there_is_an_extra_for_tests():
    assert PROJECT["project"]["scripts"] == {"lightplan": "lightplan.cli:main"}
    assert any(d.startswith("pytest") for d in PROJECT["project"]["optional-dependencies"]["test"])


def test_a_copied_sample_has_all_that_git_has(tmp_path):
    for name in sample_names():
        copy_sample(name, tmp_path / name)
        source = ROOT / "sample_sites" / name
        files = [p for p in source.iterdir() if p.is_file()]
        kept = [p for p in files if not any(p.match(pattern) for pattern in NOT_SHIPPED)]
        assert len(kept) >= 2
        for path in kept:
            assert (tmp_path / name / path.name).read_bytes() == path.read_bytes()
