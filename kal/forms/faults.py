"""What is wrong with a form, as a list of links at its top."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from django import forms


@dataclass(frozen=True)
class Fault:
    """One sentence, the field it is about in words, and that field's id; both may be ''."""

    sentence: str
    label: str = ""
    target: str = ""

    def under(self, place: str) -> "Fault":
        """Return the same fault with where its part of the form is, like "Section 2"."""
        return replace(self, label=f"{place}, {self.label}" if self.label else place)


def faults_of(form: forms.BaseForm) -> Iterator[Fault]:
    """Yield what is wrong with a form in the order of its fields, what is of no field first.

    What is of no field leads to the first that can be filled in.
    """
    shown = form.visible_fields()
    first = shown[0].id_for_label if shown else ""
    for sentence in form.non_field_errors():
        yield Fault(str(sentence), target=first)
    for field in form:
        target = field.id_for_label or field.auto_id
        for sentence in field.errors:
            yield Fault(str(sentence), str(field.label), target)
