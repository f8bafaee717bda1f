"""What all tests share: no network, and the way to reference data that may lie beside the checkout."""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the cores are taken by the suite's own processes

from tests.invented_range import range_, traced

__all__ = ["range_", "traced"]  # fixtures of several modules

# The same examples in every run, however busy the machine: a red run means a change of ours.
settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")

ROOT = Path(__file__).resolve().parents[1]
SHARED = ROOT.parent / "shared"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--accept", action="store_true", help="take what was made as the new golden files")


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """The whole suite goes to every core; a part of it stays in one process."""
    is_worker = hasattr(config, "workerinput")  # a worker reads this too, and must start none of its own
    whole = config.args_source is pytest.Config.ArgsSource.TESTPATHS and not is_worker
    if whole and config.pluginmanager.hasplugin("xdist") and config.option.numprocesses is None:
        config.option.numprocesses = os.cpu_count()
        if config.option.dist == "no":
            config.option.dist = "worksteal"


@pytest.fixture
def golden_file(request: pytest.FixtureRequest) -> Callable[[Path, str], None]:
    """A check that a text equals a file; a difference leaves FILE.actual beside it, `--accept` takes it."""

    def check(expected: Path, text: str) -> None:
        actual = expected.with_name(f"{expected.name}.actual")
        if request.config.getoption("--accept"):
            expected.write_text(text, encoding="utf-8")
            actual.unlink(missing_ok=True)
            return
        if not expected.exists() or expected.read_text(encoding="utf-8") != text:
            actual.write_text(text, encoding="utf-8")
            pytest.fail(f"differs from {expected.name}; see {actual.name} beside it, or run with --accept")
        actual.unlink(missing_ok=True)

    return check


@pytest.fixture
def shared() -> Path:
    """The reference data beside the checkout; the test is skipped where they are not."""
    if not SHARED.is_dir():
        pytest.skip("needs the reference data folder ../shared, which is not part of the project")
    return SHARED


@pytest.fixture(autouse=True)
def no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only loopback may be reached from a test."""
    connect = socket.socket.connect

    def loopback_only(sock: socket.socket, address: object) -> None:
        host = address[0] if isinstance(address, tuple) else address
        if isinstance(host, str) and (host.startswith("127.") or host in {"localhost", "::1"} or "/" in host):
            return connect(sock, address)
        raise OSError(f"a test tried to reach {address!r}; tests use no network")

    monkeypatch.setattr(socket.socket, "connect", loopback_only)
