"""Data runs one way: the imports of every module, read from its syntax tree, keep to the design."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.conftest import ROOT

PACKAGE = ROOT / "lightplan"
CORE = ("advice", "heat", "house", "crops", "site")
OUTER = ("weather", "records", "report", "deliver", "cli", "commands", "plan")
USES_PVLIB = (
    "lightplan.weather",
    "lightplan.sky",
    "lightplan.sun",
    "lightplan.par",
    "lightplan.refine",
    "lightplan.house.condensation",
)
HTTP = ("requests", "requests_cache", "urllib3", "urllib.request", "http.client", "httpx", "smtplib")
CLOCK_MODULES = ("lightplan.cli", "lightplan.commands")


@dataclass(frozen=True)
class Import:
    """importer, imported : dotted module names. late : inside a function."""

    importer: str
    imported: str
    late: bool

    def of(self, *names: str) -> bool:
        return any(self.imported == name or self.imported.startswith(f"{name}.") for name in names)

    def by(self, *names: str) -> bool:
        return any(self.importer == name or self.importer.startswith(f"{name}.") for name in names)


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_in(source: str, importer: str) -> Iterator[Import]:
    """Every import of a module, `from x import y` as x.y, wherever it stands."""

    def walk(node: ast.AST, late: bool) -> Iterator[Import]:
        if isinstance(node, ast.Import):
            yield from (Import(importer, alias.name, late) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{importer} imports relatively; the project writes whole names"
            yield from (Import(importer, f"{node.module}.{alias.name}", late) for alias in node.names)
        inside = late or isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        for child in ast.iter_child_nodes(node):
            yield from walk(child, inside)

    yield from walk(ast.parse(source), False)


def clock_reads(source: str) -> list[int]:
    """Lines that ask the computer for the present: now(), utcnow(), today(), time.time()."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and (
            node.func.attr in ("now", "utcnow", "today")
            or (node.func.attr == "time" and ast.unparse(node.func.value) == "time")
        )
    ]


SOURCES = {module_name(path): path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob("*.py"))}
IMPORTS = tuple(found for name, source in SOURCES.items() for found in imports_in(source, name))


def outward(found: Import) -> bool:
    return found.by(*(f"lightplan.{part}" for part in CORE)) and found.of(
        *(f"lightplan.{part}" for part in OUTER)
    )


def report_reaching_back(found: Import) -> bool:
    """A page is made of a finished plan."""
    return found.by("lightplan.report") and found.of(
        "lightplan.weather.fetch", "lightplan.records", "lightplan.cli", "lightplan.commands"
    )


def pvlib_astray(found: Import) -> bool:
    return found.of("pvlib") and not found.by(*USES_PVLIB)


def weasyprint_astray(found: Import) -> bool:
    return found.of("weasyprint") and not (found.late and found.importer == "lightplan.report.pdf")


def http_astray(found: Import) -> bool:
    return found.of(*HTTP) and not found.by("lightplan.weather", "lightplan.deliver")


RULES = (outward, report_reaching_back, pvlib_astray, weasyprint_astray, http_astray)


@pytest.mark.parametrize("rule", RULES)
def test_every_import_keeps_to_the_rule(rule):
    assert len(IMPORTS) > 300
    assert not [found for found in IMPORTS if rule(found)]


def test_the_clock_is_read_in_the_commands_only():
    readers = {name: lines for name, source in SOURCES.items() if (lines := clock_reads(source))}
    assert readers
    assert not [n for n in readers if not any(n == m or n.startswith(f"{m}.") for m in CLOCK_MODULES)]


@pytest.mark.parametrize(
    ("rule", "importer", "source"),
    [
        (outward, "lightplan.advice.lamps.x", "from lightplan import records"),
        (outward, "lightplan.house.x", "def f():\n    import lightplan.report.units"),
        (outward, "lightplan.crops.needs", "from lightplan.weather.table import Weather"),
        (report_reaching_back, "lightplan.report.html", "from lightplan import records"),
        (pvlib_astray, "lightplan.house.x", "from pvlib.location import Location"),
        (weasyprint_astray, "lightplan.report.pdf", "import weasyprint"),
        (weasyprint_astray, "lightplan.report.html", "def f():\n    from weasyprint import HTML"),
        (http_astray, "lightplan.site.start", "import requests"),
        (http_astray, "lightplan.plan", "from urllib.request import urlopen"),
    ],
)
def test_a_module_that_breaks_the_rule_is_caught(rule, importer, source):
    assert [found for found in imports_in(source, importer) if rule(found)]


@pytest.mark.parametrize("call", ["datetime.now(zone)", "date.today()", "pd.Timestamp.now()", "time.time()"])
def test_a_look_at_the_clock_is_caught(call):
    assert clock_reads(f"x = {call}") == [1]
