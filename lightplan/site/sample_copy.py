"""Copy a sample site out of the package: its inputs, never sheets, records or caches."""

from __future__ import annotations

from pathlib import Path

from lightplan.files import new_file
from lightplan.problems import InputError
from lightplan.shipped import HERE, samples_folder
from lightplan.site.problems import SITE_FILE, a_list, nearest

INPUTS = ("*.toml", "*.csv", "*.md", "*.txt", "*.epw", "*.tm2")


def sample_names() -> tuple[str, ...]:
    """Samples by name, in alphabetical order."""
    return tuple(sorted(path.parent.name for path in samples_folder().glob(f"*/{SITE_FILE}")))


def copy_sample(name: str, target: Path) -> Path:
    """Copy a sample's inputs into `target` and return it.

    Raises InputError for an unknown name, a target inside the package, or a file that stands already.
    """
    if name not in sample_names():
        near = nearest(name, sample_names())
        hint = f"the nearest is {near}" if near else f"there are {a_list(sample_names(), 'and')}"
        raise InputError(f"{name} is not a sample; {hint}.")
    if any(target.resolve().is_relative_to(folder.resolve()) for folder in (samples_folder(), HERE)):
        raise InputError(f"{target} lies inside the program; give a folder of your own.")
    source = samples_folder() / name
    files = sorted({path for pattern in INPUTS for path in source.glob(pattern)})
    for path in files:
        if (target / path.name).exists():
            raise InputError(f"{target / path.name} stands already; start never overwrites it.")
    target.mkdir(parents=True, exist_ok=True)
    for path in files:
        new_file(target / path.name, path.read_bytes())
    return target
