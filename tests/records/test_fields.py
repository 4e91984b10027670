"""What tired people type, and what the fields make of it."""

import datetime
import uuid
from decimal import Decimal

import pytest
from django import forms
from django.http import QueryDict
from django.utils import timezone, translation

from records.forms import fields


@pytest.mark.parametrize(
    ("field", "typed", "value"),
    [
        (fields.MetresField(), "18.4", Decimal("18.4")),
        (fields.MetresField(), "18,4", Decimal("18.4")),
        (fields.MetresField(), " 18.45 m ", Decimal("18.45")),
        (fields.MetresField(), ".5", Decimal("0.5")),
        (fields.MetresField(min_value=-5), "\N{MINUS SIGN}1.5", Decimal("-1.5")),
        (fields.BarField(), "200 bar", Decimal(200)),
        (fields.LitresField(), "12", Decimal(12)),
        (fields.CelsiusField(), "-1,5 °C", Decimal("-1.5")),
        (fields.PercentField(), "98 %", Decimal(98)),
        (fields.MinutesField(required=False), "", None),
        (fields.CountField(), "3", 3),
        (fields.ClockField(), "9:30", datetime.time(9, 30)),
        (fields.ClockField(), "0930", datetime.time(9, 30)),
        (fields.ClockField(), "930", datetime.time(9, 30)),
        (fields.ClockField(), "9.30", datetime.time(9, 30)),
        (fields.ClockField(), "23:59:30", datetime.time(23, 59)),
        (fields.ClockField(), "00:00", datetime.time(0, 0)),
        (fields.ClockField(required=False), "", None),
        (fields.DayField(), "2031-06-14", datetime.date(2031, 6, 14)),
        (fields.DayField(), "14/06/2031", datetime.date(2031, 6, 14)),
    ],
)
def test_what_people_type_is_understood(field, typed, value):
    assert field.clean(typed) == value


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        (fields.MetresField(), "deep", "Give a number in metres, for example 12.5."),
        (fields.MetresField(), "1.2.3", "Give a number in metres, for example 12.5."),
        (fields.MetresField(), "1,234.5", "Give a number in metres, for example 12.5."),
        (fields.MetresField(), "nan", "Give a number in metres, for example 12.5."),
        (fields.MetresField(), "1e3", "Give a number in metres, for example 12.5."),
        (fields.MetresField(), "-1", "This must be at least 0 m."),
        (fields.MetresField(max_value=130), "131", "This can be at most 130 m."),
        (fields.MetresField(), "1.234", "Give at most 2 figures after the decimal point."),
        (fields.LitresField(), "1.23", "Give at most 1 figure after the decimal point."),
        (fields.BarField(), "200.5", "Give a whole number."),
        (fields.MetresField(), "12345678901", "This number has too many figures."),
        (fields.PercentField(), "101", "Give a share between 0 and 100 %."),
        (fields.CountField(), "2.5", "Give a whole number, for example 3."),
        (fields.ClockField(), "24:00", "Give the time as hours and minutes, for example 14:05."),
        (fields.ClockField(), "9:61", "Give the time as hours and minutes, for example 14:05."),
        (fields.ClockField(), "noon", "Give the time as hours and minutes, for example 14:05."),
        (fields.DayField(), "31/02/2031", "Give a day of the calendar, for example 2031-06-14."),
        (fields.RecordIdField(), "x", "lost the key of its record"),
    ],
)
def test_what_cannot_be_is_refused_in_words(field, typed, words):
    with pytest.raises(forms.ValidationError) as refused:
        field.clean(typed)

    assert words in " ".join(refused.value.messages)


class SampleForm(forms.Form):
    id = fields.RecordIdField()
    version = fields.VersionField()
    depth = fields.MetresField(help_text="As the gauge shows it.")
    left = fields.ClockField(label="Left the surface", now_button=False)


def test_the_control_bears_unit_help_and_error_by_name():
    html = str(SampleForm({"depth": "deep"})["depth"].as_field_group())

    assert 'aria-describedby="id_depth_helptext id_depth_error"' in html
    assert 'id="id_depth_error"' in html
    assert 'aria-invalid="true"' in html
    assert 'inputmode="decimal"' in html
    assert '<span class="unit" aria-hidden="true">m</span>' in html
    assert "(metres)" in html


def test_a_now_button_stands_beside_a_time_only_where_wanted():
    class Timed(forms.Form):
        at = fields.ClockField()

    assert 'data-now="id_at"' in str(Timed())
    assert "data-now" not in str(SampleForm()["left"].as_field_group())


def test_each_drawing_of_a_form_makes_a_new_key():
    first, second = SampleForm()["id"].value(), SampleForm()["id"].value()

    assert uuid.UUID(first).version == 4
    assert first != second


def test_the_greater_of_two_versions_is_meant():
    form = SampleForm(QueryDict("version=2&version=10&version=x"))

    form.is_valid()

    assert form.cleaned_data["version"] == 10


def test_a_moment_is_shown_in_the_active_zone():
    at = datetime.datetime(2031, 6, 10, 22, 30, tzinfo=datetime.UTC)

    with timezone.override("Europe/Athens"):
        form = SampleForm(initial={"left": at})
        assert 'value="01:30"' in str(form["left"])


def test_a_decimal_comma_is_shown_where_it_is_the_custom():
    with translation.override("de"):
        html = str(SampleForm(initial={"depth": Decimal("18.4")})["depth"])

    assert 'value="18,4"' in html
