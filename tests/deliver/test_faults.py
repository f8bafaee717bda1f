"""Every fault is said in its own words, the sheet is kept, the other ways work, the next run sends it."""

from __future__ import annotations

import os
import time
from datetime import timedelta

import pytest

from lightplan.deliver.copy_to import Folder
from lightplan.deliver.dispatch import deliver
from lightplan.deliver.outbox import Outbox
from tests.deliver.faults import FAULTS
from tests.deliver.parcels import DAY, MADE, PDF, parcel


class Mended:
    """The same way once it works again."""

    def __init__(self, like) -> None:
        self.name, self.words, self.sent = like.name, like.words, []

    def send(self, parcel, sent_at, *, late):
        self.sent.append((parcel, late))


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_a_fault_is_said_and_nothing_is_lost(fault, tmp_path):
    if fault.posix and os.name != "posix":
        pytest.skip("needs lp as a shell script")
    other = tmp_path / "works"
    other.mkdir()
    outbox, said, told = Outbox(tmp_path / "site"), [], []
    started = time.monotonic()
    with fault.made(tmp_path) as channel:
        ways = [channel, Mended(Folder(other))]
        ways[1].name = "other"
        left = deliver(outbox, ways, parcel(), sent_at=MADE, say=said.append, tell=told.append)
    assert time.monotonic() - started < 6
    assert left == 1
    [sentence] = said
    assert fault.says in sentence, sentence
    assert sentence.endswith("The sheet of 2026-04-21 is kept and tried again at the next run.")
    assert "Traceback" not in sentence and "Errno" not in sentence
    assert ways[1].sent == [(parcel(), False)]
    [slip] = outbox.pending(channel.name)
    assert slip.parcel.files == parcel().files
    mended, tomorrow = Mended(channel), parcel(DAY + timedelta(days=1))
    left = deliver(outbox, [mended], tomorrow, sent_at=tomorrow.made_at, say=said.append, tell=told.append)
    assert left == 0 and len(said) == 1
    assert [(p.day, late) for p, late in mended.sent] == [(tomorrow.day, False), (DAY, True)]
    assert mended.sent[1][0].content(".pdf") == PDF
    assert not outbox.pending(channel.name)
