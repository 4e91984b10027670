"""What a form has to have mended, from all its parts, in one list."""

from django import forms

from records.forms import fields
from records.queries.changes import Change
from records.templatetags.mending import Fault, Question, what_to_mend


class SampleForm(forms.Form):
    id = fields.RecordIdField()
    version = fields.VersionField()
    depth = fields.MetresField()


class RowForm(forms.Form):
    bar = fields.BarField()


KEY = "6f1e0f1e-6f1e-4f1e-8f1e-6f1e0f1e6f1e"


def filled(**more):
    return SampleForm({"id": KEY, "version": "2", "depth": "18"} | more)


def test_nothing_stands_on_a_fresh_form():
    mend = what_to_mend(SampleForm(), [RowForm()], [])

    assert (mend.faults, mend.questions, mend.changes, mend.stale) == ([], [], [], False)


def test_faults_of_form_rows_and_sentences_stand_together():
    form, row = filled(depth=""), RowForm({"row-bar": "600"}, prefix="row")
    form.add_error(None, "The season is closed.")

    assert what_to_mend(form, [row], ["Choose a team."]).faults == [
        Fault("Choose a team."),
        Fault("The season is closed."),
        Fault("This field is required.", "Depth", "id_depth"),
        Fault("This can be at most 500 bar.", "Bar", "id_row-bar"),
    ]


def test_a_question_answered_before_stays_answered():
    form = filled(answer_deep="Deeper than 40 m: was it so?")
    form.questions = {"long": "Longer than 90 min: was it so?"}

    assert what_to_mend(form).questions == [
        Question("answer_deep", "Deeper than 40 m: was it so?", answered=True),
        Question("answer_long", "Longer than 90 min: was it so?", answered=False),
    ]


def test_a_stale_form_shows_the_changes_instead_of_faults():
    form = filled()
    form.stale, form.stale_version = [Change("Depth", "17", "18.4")], 3
    form.add_error(None, "Somebody else saved this record.")

    mend = what_to_mend(form)

    assert mend.stale
    assert (mend.faults, mend.stale_version, mend.version_name) == ([], 3, "version")
    assert mend.changes == [Change("Depth", "17", "18.4")]
