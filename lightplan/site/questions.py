"""What `lightplan start` asks, as data: each question is an option of the command too."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lightplan.site.answers import Given, degrees, in_us_units, measure, number, whole, words
from lightplan.site.quantities import AREA, LENGTH, Quantity

Asked = Callable[[Given], bool]


def always(given: Given) -> bool:
    return True


@dataclass(frozen=True)
class Question:
    """One question of `lightplan start`, and one of its options.

    key : field of Answers, and the option's name. text : the question, `{unit}` to be filled.
    default, us_default : what an empty answer means, in the place's units; None = it must be answered.
    read : the answer's text → value, metric; raises InputError. asked : whether it applies.
    """

    key: str
    text: str
    default: str | None
    read: Callable[[str, Given], object]
    us_default: str | None = None
    asked: Callable[[Given], bool] = always
    quantity: Quantity | None = None

    @property
    def option(self) -> str:
        """The command line's option: `--width` for `width_m`."""
        return "--" + self.key.removesuffix("_m").removesuffix("_m2").removesuffix("_deg").replace("_", "-")

    def wording(self, given: Given) -> str:
        if self.quantity is None:
            return self.text
        unit = self.quantity.us_unit if in_us_units(given) else self.quantity.metric_unit
        return self.text.format(unit=unit)

    def default_for(self, given: Given) -> str | None:
        if self.key == "glazing":
            return "double-poly" if given.get("shape") in ("hoop", "gothic") else self.default
        ridge = given.get("ridge_azimuth_deg")
        if self.key == "faces_deg" and isinstance(ridge, float):
            return f"{(ridge + 90) % 360:g}"
        return self.us_default if self.us_default is not None and in_us_units(given) else self.default


def _shape_in(*shapes: str) -> Callable[[Given], bool]:
    return lambda given: given.get("shape") in shapes


def _not_flat(given: Given) -> bool:
    return given.get("shape") != "flat"


def _has_lamps(given: Given) -> bool:
    return bool(given.get("lamp_ppfd"))


def _length(
    key: str, text: str, default: str, us_default: str, asked: Callable[[Given], bool] = always
) -> Question:
    text = f"{text} in {{unit}}"
    return Question(key, text, default, measure(LENGTH), us_default, asked, LENGTH)


QUESTIONS: tuple[Question, ...] = (
    Question("name", "What is the place called", None, words),
    Question("latitude", "Latitude in degrees (36.1, or 36.1 S for south)", None, degrees),
    Question("longitude", "Longitude in degrees (79.95 W for west)", None, degrees),
    Question("house", "What do you call the first house", "house-1", words),
    Question("shape", "Its shape: gable, hoop, gothic, multispan, lean-to or flat", "gable", words),
    Question("spans", "How many spans", "3", whole, asked=_shape_in("multispan")),
    _length("width_m", "Width of one span", "9.1", "30"),
    _length("length_m", "Length along the ridge", "29", "96"),
    _length("eave_m", "Height of the side walls", "2.4", "8"),
    _length("ridge_m", "Height at the ridge or crown", "4.7", "15.5", _not_flat),
    Question("ridge_azimuth_deg", "Direction of the ridge (0 north-south, 90 east-west)", "90", number),
    Question(
        "faces_deg", "Direction it faces (ridge + 90 or + 270)", "180", number, asked=_shape_in("lean-to")
    ),
    Question("glazing", "Its glazing (lightplan check --names lists them)", "single-glass", words),
    Question("bench", "What do you call the first bench", "bench-1", words),
    Question("area_m2", "Its growing area in {unit}", "12", measure(AREA), "130", always, AREA),
    Question("lamp_ppfd", "PPFD of its lamps at the trays (0: it has none)", "0", number),
    Question("lamp_power_kw", "What these lamps draw together, in kW", None, number, asked=_has_lamps),
)
