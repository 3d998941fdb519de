"""What a grower does to pieces, as forms: which fields each has."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from ramet.domain.words import Form
from ramet.web import verb_orders as orders

FieldKind = Literal["text", "size", "number", "whole", "choice", "area", "day"]


@dataclass(frozen=True, slots=True)
class VerbField:
    """A field of a verb's form; `quantity` names what a size is of, `suggest` a list of words.

    `of_piece` is the field of the piece that stands in it at first.
    """

    name: str
    label: str
    kind: FieldKind = "text"
    hint: str = ""
    quantity: str = ""
    options: tuple[tuple[str, str], ...] = ()
    suggest: str = ""
    of_piece: str = ""


@dataclass(frozen=True, slots=True)
class Verb:
    """One thing to enter. `done` tells it afterwards; `for_many`: it takes several pieces at once.

    `rows` is the number of empty rows for new pieces, their fields named `children.N.NAME`; `each` has the
    fields that every chosen piece has for itself, named `NAME@PIECE`.
    """

    id: str
    icon: str
    words: str
    done: str
    fields: tuple[VerbField, ...]
    do: orders.Do
    for_many: bool = True
    rows: int = 0
    each: tuple[VerbField, ...] = ()


PLACE = (
    VerbField("tank", "Tank", suggest="tanks", of_piece="tank"),
    VerbField("system", "System", hint="only where two have a tank of that name", suggest="systems"),
    VerbField("spot", "Spot"),
    VerbField("par", "Light there", "number", hint="PAR, if it was read"),
    VerbField("flow_cm_s", "Flow there", "size", quantity="flow", hint="if it was read"),
)
SIZE_FIELDS = (
    VerbField("length_mm", "Length", "size", quantity="length"),
    VerbField("width_mm", "Width", "size", quantity="length"),
    VerbField("height_mm", "Height", "size", quantity="length"),
    VerbField("heads", "Heads", "whole"),
)
_WEIGHT = VerbField("buoyant_g", "Weight in water", "number", hint="g, hung in its water")
_TOOL = VerbField("tool", "Tool", hint="so that what it touched can be traced")
_LEFT = tuple(
    VerbField(f"left.{one.name}", f"{one.label} left", one.kind, quantity=one.quantity) for one in SIZE_FIELDS
)
_SEEN = (("clean", "clean"), ("finding", "found the pest"), ("cleared", "cleared, by my word"))
_PEST = VerbField("pest", "Pest", "choice")
_NOTE = VerbField("note", "Note", "area")
_INSPECTED = (VerbField("result", "Seen", "choice", options=_SEEN), _PEST, _NOTE)
_DIPPED = (
    VerbField("dip", "Class of dip", hint="the class, as the label says it"),
    VerbField("minutes", "Minutes", "number"),
    _PEST,
    VerbField("bath", "Tub", hint="so that what shared it can be traced"),
    _NOTE,
)
_TREATED = (_PEST, VerbField("given", "What was given", hint="as you say it; never recommended"), _NOTE)
_FORMS = tuple((one.value, one.value) for one in Form)
_CORRECTED = (
    VerbField("strain", "Strain", suggest="strains", of_piece="strain"),
    VerbField("taxon", "Taxon", suggest="taxa", of_piece="taxon"),
    VerbField("form", "Form", "choice", options=_FORMS, of_piece="form"),
    VerbField("parent", "Parent", of_piece="parent"),
    VerbField("mounted_on", "Mounted on", of_piece="mounted_on"),
    VerbField("cut_on", "Cut on", "day", of_piece="cut_on"),
    VerbField("acquired_on", "Came in on", "day", of_piece="acquired_on"),
    VerbField("source", "Source", of_piece="source"),
    VerbField("permit", "Permit", of_piece="permit"),
    VerbField("note", "Note", "area", of_piece="note"),
)
_TO_WHOM = (VerbField("promised_to", "To whom"),)
_WHY = (VerbField("why", "Why", hint="as far as is known"),)
_ALL = (
    Verb("move", "move", "Move", "Moved", PLACE, orders.do_move),
    Verb("measure", "measure", "Measure", "Measured", (), orders.do_measure, each=(*SIZE_FIELDS, _WEIGHT)),
    Verb("cut", "cut", "Cut", "Cut", (_TOOL, *_LEFT), orders.do_cut, False, orders.NEW_PIECES),
    Verb("inspect", "search", "Inspect", "Entered the look at", _INSPECTED, orders.do_inspect),
    Verb("dip", "health", "Dip", "Dipped", _DIPPED, orders.do_dip),
    Verb("treat", "health", "Treat", "Entered the treatment of", _TREATED, orders.do_treat),
    Verb("promise", "done", "Promise", "Promised", _TO_WHOM, orders.do_promise),
    Verb("free", "undo", "Free of its promise", "Freed", (), orders.do_free),
    Verb("lost", "close", "Lost", "Entered the loss of", _WHY, orders.do_lose),
    Verb("correct", "settings", "Correct the record", "Corrected", _CORRECTED, orders.do_correct, False),
)
VERBS: Mapping[str, Verb] = {verb.id: verb for verb in _ALL}
