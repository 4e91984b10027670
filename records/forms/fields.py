"""Fields that know their unit, take what tired people type, and say in words what is wrong."""

import datetime
import re
import uuid
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import DecimalValidator, MaxValueValidator, MinValueValidator
from django.utils import timezone
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

_NUMBER = re.compile(r"-?(\d+([.,]\d*)?|[.,]\d+)")
_CLOCK = re.compile(r"(\d{1,2})\s*[:.h]?\s*(\d{2})(?:\s*[:.]\s*\d{2})?")


class QuantityField(forms.DecimalField):
    """A number with its unit inside the field. Takes decimal point or comma, and the unit typed."""

    unit: Any = ""
    decimals = 1
    default_min: Decimal | int | None = None
    default_max: Decimal | int | None = None

    def __init__(self, **options: Any) -> None:
        options.setdefault("min_value", self.default_min)
        options.setdefault("max_value", self.default_max)
        options.setdefault("decimal_places", self.decimals)
        options.setdefault("max_digits", 9)
        options.setdefault("widget", forms.TextInput)
        options["localize"] = True
        super().__init__(**options)
        self.error_messages["invalid"] = format_lazy(
            _("Give a number in {unit}, for example {example}."),
            unit=self.unit_name(),
            example=self.example(),
        )
        self._say_limits_in_words()

    def unit_name(self) -> Any:
        return self.unit

    def example(self) -> str:
        return "12" if self.decimal_places == 0 else "12.5"

    def _say_limits_in_words(self) -> None:
        at_most, at_least = self.limit_words()
        for rule in self.validators:
            if isinstance(rule, MaxValueValidator):
                rule.message = at_most
            elif isinstance(rule, MinValueValidator):
                rule.message = at_least
            elif isinstance(rule, DecimalValidator):
                rule.messages = {**rule.messages, **self.length_words()}

    def limit_words(self) -> tuple[Any, Any]:
        return (
            format_lazy(_("This can be at most %(limit_value)s {unit}."), unit=self.unit),
            format_lazy(_("This must be at least %(limit_value)s {unit}."), unit=self.unit),
        )

    def length_words(self) -> dict[str, Any]:
        too_fine = _("Give a whole number.")
        if self.decimal_places:
            too_fine = ngettext_lazy(
                "Give at most %(max)s figure after the decimal point.",
                "Give at most %(max)s figures after the decimal point.",
                "max",
            )
        too_long = _("This number has too many figures.")
        return {
            "max_decimal_places": too_fine,
            "max_digits": too_long,
            "max_whole_digits": too_long,
        }

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        attrs: dict[str, Any] = {
            "inputmode": "numeric" if self.decimal_places == 0 else "decimal",
            "autocomplete": "off",
            "data-number": self.decimal_places,
            "data-unit": self.unit,
        }
        if isinstance(self.min_value, int | float | Decimal) and self.min_value < 0:
            attrs["inputmode"] = "text"  # tablets' number pads have no minus
        for name, limit in (("data-min", self.min_value), ("data-max", self.max_value)):
            if limit is not None:
                attrs[name] = limit
        return attrs

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        if isinstance(value, str):
            value = self._as_typed(value)
        try:
            number: Decimal | None = forms.Field.to_python(self, value)
            if number in self.empty_values:
                return None
            return Decimal(str(number))
        except InvalidOperation:
            raise ValidationError(self.error_messages["invalid"], code="invalid") from None

    def _as_typed(self, typed: str) -> str:
        text = typed.strip().replace("\N{MINUS SIGN}", "-").replace("\N{NO-BREAK SPACE}", " ")
        text = text.removesuffix(str(self.unit)).strip()
        if text and not _NUMBER.fullmatch(text):
            raise ValidationError(self.error_messages["invalid"], code="invalid")
        return text.replace(",", ".")


class MetresField(QuantityField):
    unit = _("m")
    decimals = 2
    default_min = 0

    def unit_name(self) -> Any:
        return _("metres")


class MillimetresField(QuantityField):
    unit = _("mm")
    decimals = 0
    default_min = 0

    def unit_name(self) -> Any:
        return _("millimetres")


class MinutesField(QuantityField):
    unit = _("min")
    decimals = 0
    default_min = 0

    def unit_name(self) -> Any:
        return _("minutes")


class BarField(QuantityField):
    unit = _("bar")
    decimals = 0
    default_min = 0
    default_max = 500


class LitresField(QuantityField):
    unit = _("l")
    decimals = 1
    default_min = 0

    def unit_name(self) -> Any:
        return _("litres")


class CelsiusField(QuantityField):
    unit = _("°C")
    decimals = 1
    default_min = -5
    default_max = 45

    def unit_name(self) -> Any:
        return _("degrees Celsius")


class DegreesField(QuantityField):
    unit = _("°")
    decimals = 1
    default_min = -360
    default_max = 360

    def unit_name(self) -> Any:
        return _("degrees")


class GramsField(QuantityField):
    unit = _("g")
    decimals = 1
    default_min = 0

    def unit_name(self) -> Any:
        return _("grams")


class PercentField(QuantityField):
    unit = _("%")
    decimals = 1
    default_min = 0
    default_max = 100

    def unit_name(self) -> Any:
        return _("per cent")

    def limit_words(self) -> tuple[Any, Any]:
        words = _("Give a share between 0 and 100 %%.")
        return words, words


class CountField(forms.IntegerField):
    """A whole number of things; a number pad, no spinner."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("min_value", 0)
        options.setdefault("widget", forms.TextInput)
        super().__init__(**options)
        self.error_messages["invalid"] = _("Give a whole number, for example 3.")

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        attrs = {"inputmode": "numeric", "autocomplete": "off", "data-number": 0}
        if self.min_value is not None:
            attrs["data-min"] = self.min_value
        if self.max_value is not None:
            attrs["data-max"] = self.max_value
        return attrs


class ClockField(forms.TimeField):
    """A time of day in the season's zone, hours and minutes, with a "now" button.

    Takes 9:30, 09:30, 9.30, 930 and 0930.
    """

    def __init__(self, *, now_button: bool = True, **options: Any) -> None:
        self.now_button = now_button
        options.setdefault("widget", forms.TimeInput(format="%H:%M"))
        super().__init__(**options)
        self.error_messages["invalid"] = _("Give the time as hours and minutes, for example 14:05.")

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {
            "inputmode": "numeric",
            "autocomplete": "off",
            "placeholder": _("hh:mm"),
            "maxlength": 8,
            "data-clock": True,
        }

    def to_python(self, value: Any) -> datetime.time | None:
        if value in self.empty_values:
            return None
        if isinstance(value, datetime.datetime):
            return timezone.localtime(value).time() if timezone.is_aware(value) else value.time()
        if isinstance(value, datetime.time):
            return value
        typed = _CLOCK.fullmatch(str(value).strip())
        if typed and int(typed[1]) < 24 and int(typed[2]) < 60:
            return datetime.time(int(typed[1]), int(typed[2]))
        raise ValidationError(self.error_messages["invalid"], code="invalid")

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, datetime.datetime) and timezone.is_aware(value):
            return timezone.localtime(value).time()
        return value


class DayField(forms.DateField):
    """A calendar day; the browser's own picker."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        super().__init__(**options)
        self.error_messages["invalid"] = _("Give a day of the calendar, for example 2031-06-14.")


class WordsField(forms.CharField):
    """A few lines of free text, without a rich editor in the way."""

    def __init__(self, *, rows: int = 3, **options: Any) -> None:
        super().__init__(**{"widget": forms.Textarea(attrs={"rows": rows})} | options)


class RecordIdField(forms.UUIDField):
    """The record's key, made when its form is drawn: a double submit is one record."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.HiddenInput(attrs={"data-record-id": True}))
        options.setdefault("initial", uuid.uuid4)
        super().__init__(**options)
        self.error_messages["invalid"] = self.error_messages["required"] = _(
            "This page has lost the key of its record. Reload it; what you typed is kept."
        )


class VersionInput(forms.HiddenInput):
    """The button "save mine over it" sends the newer version beside the one first seen."""

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        sent = data.getlist(name) if hasattr(data, "getlist") else [data.get(name)]
        seen = [text for text in sent if str(text).isdecimal()]
        return max(seen, key=int) if seen else None


class VersionField(forms.IntegerField):
    """The version that the person saw; the verb compares it with the one kept."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", VersionInput())
        options.setdefault("initial", 0)
        super().__init__(**options)
