from django.forms.renderers import TemplatesSetting


class HouseRenderer(TemplatesSetting):
    """Every form in one column, the unit inside its field, errors in words beside it."""

    form_template_name = "forms/form.html"
    formset_template_name = "forms/formset.html"
    field_template_name = "forms/field.html"
