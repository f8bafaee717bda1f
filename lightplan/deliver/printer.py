"""The sheet on paper: CUPS' `lp` where there is one, else what the system prints with."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from lightplan.deliver.parcel import Parcel, Undelivered

LONGEST_S = 30.0  # handing a page to the queue takes a second
LONGEST_QUOTE = 200


@dataclass(frozen=True)
class Printer:
    """printer : its name, None = the one usually used. What the queue takes counts as delivered."""

    printer: str | None
    copies: int
    longest_s: float = LONGEST_S
    name: str = "print"

    @property
    def words(self) -> str:
        return f'Printer "{self.printer}"' if self.printer else "Printer"

    def send(self, parcel: Parcel, sent_at: datetime, *, late: bool) -> None:
        pdf = parcel.content(".pdf")
        suffix, content = (".txt", parcel.text.encode()) if pdf is None else (".pdf", pdf)
        folder = Path(tempfile.mkdtemp(prefix="lightplan-print-"))
        page = folder / f"{parcel.site}-{parcel.day.isoformat()}{suffix}"
        try:
            page.write_bytes(content)
            if sys.platform == "win32":
                self._by_windows(page)
            else:
                self._by_lp(page)
        except OSError as error:
            raise Undelivered(f"can't be given the page ({error.strerror or error})") from error
        finally:
            if sys.platform != "win32":  # Windows reads the page after the call has returned
                shutil.rmtree(folder, ignore_errors=True)

    def _by_lp(self, page: Path) -> None:
        command = shutil.which("lp")
        if command is None:
            raise Undelivered(
                "can't be reached: there is no lp here (it comes with CUPS: cups-client on Debian and Ubuntu)"
            )
        to = ["-d", self.printer] if self.printer else []
        self._run([command, *to, "-n", str(self.copies), "-t", page.stem, "--", str(page)])

    def _by_windows(self, page: Path) -> None:
        for _ in range(self.copies):
            if self.printer is None:
                os.startfile(page, "print")  # type: ignore[attr-defined,unused-ignore]
                continue
            # the names go in as variables, so that nothing in them is read as a command
            names = {**os.environ, "LIGHTPLAN_PAGE": str(page), "LIGHTPLAN_PRINTER": self.printer}
            script = (
                "Start-Process -FilePath $env:LIGHTPLAN_PAGE -Verb PrintTo "
                "-ArgumentList ('\"' + $env:LIGHTPLAN_PRINTER + '\"')"
            )
            self._run(["powershell", "-NoProfile", "-NonInteractive", "-Command", script], names)

    def _run(self, command: list[str], environment: dict[str, str] | None = None) -> None:
        plain = {**(environment or os.environ), "LC_ALL": "C"}
        try:
            done = subprocess.run(
                command,
                env=plain,
                timeout=self.longest_s,
                stdin=subprocess.DEVNULL,
                capture_output=True,
                text=True,
                errors="replace",
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            raise Undelivered(f"does not take the page within {self.longest_s:g} s") from error
        if done.returncode:
            said = " ".join((done.stderr or done.stdout).split())[:LONGEST_QUOTE].rstrip(".")
            raise Undelivered(f"does not take the page ({said or f'code {done.returncode}'})")
