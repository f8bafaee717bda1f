"""What a round could not deliver, sent again for sites whose sheets are made already."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from lightplan.cli import progress, say
from lightplan.deliver.dispatch import channels_of, deliver
from lightplan.deliver.outbox import Outbox
from lightplan.problems import InputError
from lightplan.rounds.job import Outcome, Round
from lightplan.site.read import load_site

MOST_IN_VAIN = 3  # sites in a row: a mail server that is away must not cost each of a hundred its patience
SINCE = "What waited has been delivered since."


def delivered_since(round_: Round, outcomes: Iterable[Outcome]) -> Iterator[Outcome]:
    """Outcomes of sites whose outboxes are empty now, told anew. What still waits is said."""
    in_vain, untried = 0, 0
    for outcome in outcomes:
        outbox = Outbox(round_.base / outcome.folder)
        if not outbox.waits():
            continue
        if in_vain >= MOST_IN_VAIN:
            untried += 1
        elif _sent(round_, outcome.folder, outbox):
            in_vain = 0
            yield replace(outcome, said=(*outcome.said, SINCE))
        else:
            in_vain += 1
    if untried:
        say(f"{untried} more site(s) wait in their outboxes and were not tried after {in_vain} in vain.")


def _sent(round_: Round, folder: str, outbox: Outbox) -> bool:
    def tell(words: str) -> None:
        say(f"{folder}: {words}")

    try:
        site = load_site(round_.base / folder).site
    except InputError as error:
        tell(str(error))
        return False
    sent_at = round_.clock_at(site.timezone)
    return not deliver(outbox, channels_of(site), None, sent_at=sent_at, say=tell, tell=progress)
