"""Rows of a form: blank ones are passed over, those taken out are left out, keys come along."""

from typing import Any, ClassVar, cast

from django import forms
from django.forms import BaseFormSet, formset_factory

from records.forms.fields import RecordIdField


class RowForm(forms.Form):
    """A row counts once one of its `telling` fields is filled; what is only offered does not."""

    telling: ClassVar[tuple[str, ...]] = ()

    id = RecordIdField()

    def has_changed(self) -> bool:
        filled = (
            self.fields[name].widget.value_from_datadict(
                self.data, self.files, self.add_prefix(name)
            )
            for name in self.telling
        )
        return any(str(value or "").strip() for value in filled)

    @property
    def is_spare(self) -> bool:
        """Blank, and there only for those who can add none by script."""
        return self.empty_permitted and not (self.is_bound and self.has_changed())


class Rows(BaseFormSet):  # type: ignore[type-arg]
    """`standing` are the rows that were filled and not taken out."""

    @property
    def standing(self) -> list[Any]:
        return [form for form in self.forms if self.counts(form)]

    def counts(self, form: Any) -> bool:
        if not form.is_bound:
            return False
        gone = bool(form.data.get(form.add_prefix("DELETE")))
        return not gone and (not form.empty_permitted or form.has_changed())


def rows_of(row: type[RowForm], *, extra: int, most: int) -> type[Rows]:
    made: Any = formset_factory(
        row, formset=Rows, extra=extra, can_delete=True, max_num=most, absolute_max=most
    )
    return cast(type[Rows], made)
