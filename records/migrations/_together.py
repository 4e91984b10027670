"""Many tables at once.

Django draws the whole web of models anew for each CreateModel; where every record points at the
accounts, a first start spends most of its time on that. Here it is drawn once.
"""

from typing import Any

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState


class CreateModels(Operation):
    """As the same CreateModel operations one after another, later ones pointing at earlier ones."""

    def __init__(self, models: list[migrations.CreateModel]) -> None:
        self.models = models

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        state.__dict__.pop("apps", None)  # a cached property, drawn again when it is asked for
        state.is_delayed = False  # drawn whole, so `migrate` need not draw it once more at its end
        for model in self.models:
            model.state_forwards(app_label, state)

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for model in self.models:
            model.database_forwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for model in reversed(self.models):
            model.database_backwards(app_label, schema_editor, from_state, to_state)

    def describe(self) -> str:
        return f"Create {len(self.models)} models"

    def references_model(self, name: str, app_label: str) -> Any:
        return any(model.references_model(name, app_label) for model in self.models)
