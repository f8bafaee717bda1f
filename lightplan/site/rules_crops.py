"""Rules of crops and their stages, on benches and in the grower's own needs."""

from __future__ import annotations

from collections.abc import Iterator

from lightplan.site.crop_names import ASKED_BACK, SYNONYMS, crop_called, crop_names, crops_with_light, plain
from lightplan.site.models import Stage
from lightplan.site.problems import Problem, a_list, held, nearest
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.rules_names import near_name
from lightplan.site.schema_bench import BatchRow
from lightplan.site.schema_own import NeedsTable


def crop_hint(name: str) -> str | None:
    """What would do in place of a crop's name; None where the name is known."""
    if crop_called(name) is not None:
        return None
    if choices := ASKED_BACK.get(plain(name)):
        return f"; which one: {a_list(choices)}?"
    return f", which is no crop of the tables; {near_name(plain(name), (*crop_names(), *SYNONYMS))}"


@rule(BatchRow, "crop")
def known_crop(row: Row, around: Around) -> Iterator[Problem]:
    if hint := crop_hint(row["crop"]):
        yield wrong(row, "crop", hint, "unknown-name")


@rule(BatchRow, "crop", "stage")
def crop_has_light(row: Row, around: Around) -> Iterator[Problem]:
    """A crop of which the tables hold the germination alone needs the grower's own light for other stages."""
    crop = crop_called(row["crop"])
    if crop is None or crop in crops_with_light() or row["stage"] == Stage.GERMINATION.value:
        return
    for needs in around.root.children.get("crop", ()):
        _, name, stage = needs.path
        same = crop_called(str(name)) == crop and stage_key(str(stage)) == row["stage"]
        if same and {"minimum", "target"} <= needs.raw.keys():
            return
    own = f"[crop.{crop}.{row['stage']}]"
    told = f", of which the tables hold the germination alone; give minimum and target under {own}"
    yield wrong(row, "crop", told, "no-light-needs")


def stage_key(stage: str) -> str:
    return stage.strip().lower().replace("_", "-")


@rule(NeedsTable)
def known_crop_and_stage(row: Row, around: Around) -> Iterator[Problem]:
    _, crop, stage = (str(part) for part in row.path)
    stages = [known.value for known in Stage]
    if hint := crop_hint(crop):
        yield row.problem("", f"the crop is {held(crop)}{hint}", "unknown-name")
    if stage_key(stage) not in stages:
        near = nearest(stage, stages)
        hint = f"the nearest is {near}" if near else f"the stages are {a_list(stages, 'and')}"
        yield row.problem("", f"the stage is {held(stage)}; {hint}", "unknown-name")


@rule(NeedsTable)
def one_table_for_a_stage(row: Row, around: Around) -> Iterator[Problem]:
    rows = around.root.children.get("crop", ())
    mine = _crop_and_stage(row)
    same = next((other for other in rows[: rows.index(row)] if _crop_and_stage(other) == mine), None)
    if same is not None:
        yield row.problem(
            "", f"means the same crop and stage as {same.place}, given above; keep one", "duplicate-id"
        )


def _crop_and_stage(row: Row) -> tuple[str, str]:
    _, crop, stage = (str(part) for part in row.path)
    return crop_called(crop) or plain(crop), stage_key(stage)


RULES = (known_crop, crop_has_light, known_crop_and_stage, one_table_for_a_stage)
