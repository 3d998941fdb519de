"""What a form sent, what is wrong with it, and doing its write once."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Annotated

from fastapi import Depends, Request
from starlette.datastructures import UploadFile

from ramet.domain.errors import BadInput
from ramet.domain.problems import Problem
from ramet.services.once import once
from ramet.web.desk import Desk

TOKEN = "token"


@dataclass(frozen=True, slots=True)
class Sent:
    """The fields of a form, as typed; a field that is there several times keeps all its values in `many`."""

    fields: Mapping[str, str]
    many: Mapping[str, tuple[str, ...]]
    uploads: tuple[tuple[str, bytes], ...] = ()

    def get(self, name: str, default: str = "") -> str:
        """Return a field without the blanks around it."""
        return self.fields.get(name, default).strip()

    def all(self, name: str) -> tuple[str, ...]:
        """Return every value of a field."""
        return self.many.get(name, ())


async def read_form(request: Request) -> Sent:
    """Read a form, with its files, into plain values."""
    async with request.form(max_files=50, max_fields=5_000) as form:
        many: dict[str, list[str]] = {}
        uploads = []
        for name, value in form.multi_items():
            if isinstance(value, UploadFile):
                if value.filename:
                    uploads.append((value.filename, await value.read()))
            else:
                many.setdefault(name, []).append(value)
    return Sent(
        {name: values[-1] for name, values in many.items()},
        {name: tuple(values) for name, values in many.items()},
        tuple(uploads),
    )


SentForm = Annotated[Sent, Depends(read_form)]


@dataclass(frozen=True, slots=True)
class FormState:
    """A form as it is shown: what stands in its fields, what is wrong, by field and in all, and labels."""

    values: Mapping[str, str] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)
    wrong: tuple[str, ...] = ()
    labels: Mapping[str, str] = field(default_factory=dict)

    def label(self, name: str) -> str:
        """Return what a field is called where its problem is listed."""
        return self.labels.get(name, name.replace("_", " "))

    def value(self, name: str, default: object = "") -> str:
        """Return what stands in a field."""
        return self.values.get(name, "" if default is None else str(default))

    def error(self, name: str) -> str:
        """Return what is wrong with a field, or nothing."""
        return self.errors.get(name, "")


def refused(sent: Sent, error: BadInput, names: Mapping[str, str] | None = None) -> FormState:
    """Return a form with all that was typed and each problem beside its field.

    `names` maps the column of a problem to the form's field where they differ.
    """
    errors: dict[str, str] = {}
    wrong: list[str] = []
    for problem in error.problems:
        column = problem.place.column or ""
        name = (names or {}).get(column, column)
        if name in sent.fields and name not in errors:
            errors[name] = f"Expected {problem.expected}."
        else:
            wrong.append(problem_words(problem))
    return FormState(sent.fields, errors, tuple(wrong))


def problem_words(problem: Problem) -> str:
    """Write a problem as a sentence."""
    column = f"{problem.place.column}: " if problem.place.column else ""
    found = "nothing there" if problem.value is None else f"found “{problem.value}”"
    return f"{column}{found}; expected {problem.expected}"


def write_once(desk: Desk, sent: Sent, write: Callable[[], str]) -> str:
    """Do a form's write once, however often the form comes, and return where it leads."""
    return once(desk.files, sent.get(TOKEN), write)
