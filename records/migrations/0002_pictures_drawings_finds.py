import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import simple_history.models
import uuid
from django.conf import settings
from django.db import migrations, models

from records.migrations._together import CreateModels


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0001_the_house"),
    ]

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="Lens",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("name", models.CharField(max_length=120, verbose_name="lens and port")),
                        (
                            "focal_length_mm",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(1)],
                                verbose_name="focal length",
                            ),
                        ),
                        ("distortion", models.JSONField(blank=True, default=dict)),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "site",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="lenses",
                                to="records.site",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["name"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="lens_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="TowerSetUp",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "name",
                            models.CharField(max_length=80, verbose_name="name of the set-up"),
                        ),
                        ("camera", models.CharField(max_length=120, verbose_name="camera")),
                        (
                            "sensor_width_mm",
                            models.FloatField(blank=True, null=True, verbose_name="sensor width"),
                        ),
                        (
                            "focal_length_mm",
                            models.FloatField(blank=True, null=True, verbose_name="focal length"),
                        ),
                        ("port", models.CharField(blank=True, max_length=80, verbose_name="port")),
                        (
                            "height_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.1)],
                                verbose_name="height above the base",
                            ),
                        ),
                        (
                            "orientation",
                            models.PositiveSmallIntegerField(
                                default=1,
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(8),
                                ],
                                verbose_name="how its pictures are turned",
                            ),
                        ),
                        (
                            "picture_width_px",
                            models.PositiveIntegerField(verbose_name="picture width, upright"),
                        ),
                        (
                            "picture_height_px",
                            models.PositiveIntegerField(verbose_name="picture height, upright"),
                        ),
                        (
                            "footprint_x_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.05)],
                                verbose_name="footprint along x",
                            ),
                        ),
                        (
                            "footprint_y_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.05)],
                                verbose_name="footprint along y",
                            ),
                        ),
                        (
                            "lens",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="set_ups",
                                to="records.lens",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "site",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="set_ups",
                                to="records.site",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-made_at"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="towersetup_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("footprint_x_m__gt", 0),
                                    ("footprint_y_m__gt", 0),
                                    ("height_m__gt", 0),
                                ),
                                name="towersetup_has_a_footprint",
                                violation_error_message="Footprint and height are above 0.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="PhotoRun",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("name", models.CharField(max_length=80, verbose_name="name of the run")),
                        ("note", models.TextField(blank=True, verbose_name="note")),
                        (
                            "grid",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="runs",
                                to="records.grid",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "season",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="runs",
                                to="records.season",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="runs",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "set_up",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="runs",
                                to="records.towersetup",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-made_at"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="photorun_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("season", "name"),
                                name="photorun_name_once_in_season",
                                violation_error_message="The season already has a run of this name.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Card",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "clock_offset_s",
                            models.FloatField(default=0, verbose_name="camera clock, seconds fast"),
                        ),
                        (
                            "state",
                            models.CharField(
                                choices=[
                                    ("arriving", "files are arriving"),
                                    ("accepted", "accepted"),
                                ],
                                default="arriving",
                                editable=False,
                                max_length=10,
                            ),
                        ),
                        ("listing", models.JSONField(editable=False, null=True)),
                        (
                            "dive",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="cards",
                                to="records.dive",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "run",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="cards",
                                to="records.photorun",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-made_at"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="card_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="StoredFile",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("sha256", models.CharField(editable=False, max_length=64, unique=True)),
                        ("size_bytes", models.PositiveBigIntegerField(editable=False)),
                        ("media_type", models.CharField(editable=False, max_length=60)),
                        ("width_px", models.PositiveIntegerField(editable=False, null=True)),
                        ("height_px", models.PositiveIntegerField(editable=False, null=True)),
                        ("on_second_copy_at", models.DateTimeField(editable=False, null=True)),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="storedfile_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("size_bytes__gt", 0)),
                                name="storedfile_not_empty",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Picture",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "original_name",
                            models.CharField(
                                editable=False, max_length=255, verbose_name="original name"
                            ),
                        ),
                        (
                            "orientation",
                            models.PositiveSmallIntegerField(
                                default=1,
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(8),
                                ],
                            ),
                        ),
                        (
                            "taken_at",
                            models.DateTimeField(blank=True, null=True, verbose_name="taken at"),
                        ),
                        ("exif", models.JSONField(default=dict, editable=False)),
                        ("caption", models.TextField(blank=True, verbose_name="caption")),
                        (
                            "creator",
                            models.CharField(blank=True, max_length=120, verbose_name="made by"),
                        ),
                        (
                            "rights",
                            models.CharField(blank=True, max_length=200, verbose_name="rights"),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "site",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="pictures",
                                to="records.site",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "file",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="pictures",
                                to="records.storedfile",
                            ),
                        ),
                        (
                            "raw_file",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="raw_of",
                                to="records.storedfile",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["taken_at", "original_name"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="picture_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(("voided_at", None)),
                                fields=("site", "file"),
                                name="picture_once_a_file_in_site",
                                violation_error_message="This file is already in the record.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("orientation__gte", 1), ("orientation__lte", 8)
                                ),
                                name="picture_orientation_is_exif",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Drawing",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("n", models.PositiveIntegerField(editable=False, verbose_name="number")),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("plan", "plan"),
                                    ("section", "section"),
                                    ("elevation", "elevation"),
                                    ("detail", "detail"),
                                    ("sketch", "sketch"),
                                ],
                                default="plan",
                                max_length=10,
                                verbose_name="kind",
                            ),
                        ),
                        (
                            "scale",
                            models.PositiveSmallIntegerField(
                                default=10,
                                validators=[django.core.validators.MinValueValidator(1)],
                                verbose_name="scale 1 to",
                            ),
                        ),
                        (
                            "frame_lies",
                            models.CharField(
                                choices=[("level", "level"), ("slope", "on the slope")],
                                default="level",
                                max_length=5,
                                verbose_name="frame lay",
                            ),
                        ),
                        ("note", models.TextField(blank=True, verbose_name="note")),
                        (
                            "dive",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="drawings",
                                to="records.dive",
                            ),
                        ),
                        (
                            "drawn_by",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="drawings",
                                to="records.diver",
                            ),
                        ),
                        (
                            "inked_from",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="inked",
                                to="records.drawing",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "season",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="%(class)ss",
                                to="records.season",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "picture",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="drawing",
                                to="records.picture",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["n"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="drawing_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("season", "n"),
                                name="drawing_number_once_in_season",
                                violation_error_message="This number is already taken in the season.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Placement",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("h", models.JSONField(editable=False)),
                        ("width_px", models.PositiveIntegerField(editable=False)),
                        ("height_px", models.PositiveIntegerField(editable=False)),
                        (
                            "method",
                            models.CharField(
                                choices=[
                                    ("footprint", "typed footprint"),
                                    ("marks", "marks"),
                                    ("station", "station of a run"),
                                ],
                                max_length=10,
                            ),
                        ),
                        ("degrees_of_freedom", models.PositiveSmallIntegerField(null=True)),
                        ("rms_px", models.FloatField(null=True)),
                        ("rms_mm", models.FloatField(null=True)),
                        (
                            "grid",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="placements",
                                to="records.grid",
                            ),
                        ),
                        (
                            "lens",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="placements",
                                to="records.lens",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "picture",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="placements",
                                to="records.picture",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "set_up",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="placements",
                                to="records.towersetup",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["made_at"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="placement_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("grid__isnull", False),
                                        ("picture__isnull", False),
                                        ("set_up", None),
                                    ),
                                    models.Q(("grid", None), ("set_up__isnull", False)),
                                    _connector="OR",
                                ),
                                name="placement_onto_a_grid_or_a_base",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="DrawnSquare",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "extent",
                            models.CharField(
                                choices=[("whole", "the whole square"), ("part", "a part of it")],
                                default="whole",
                                max_length=5,
                                verbose_name="drawn",
                            ),
                        ),
                        (
                            "drawing",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="squares",
                                to="records.drawing",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="drawn",
                                to="records.square",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="drawn",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "placement",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="drawn_squares",
                                to="records.placement",
                            ),
                        ),
                    ],
                    options={
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="drawnsquare_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(("voided_at", None)),
                                fields=("drawing", "square", "stage"),
                                name="drawnsquare_once_in_drawing",
                                violation_error_message="This drawing already has that square.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Find",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("n", models.PositiveIntegerField(editable=False, verbose_name="number")),
                        (
                            "where_in_words",
                            models.CharField(
                                blank=True, max_length=200, verbose_name="where, in words"
                            ),
                        ),
                        (
                            "object_name",
                            models.CharField(max_length=80, verbose_name="object name"),
                        ),
                        (
                            "material",
                            models.CharField(blank=True, max_length=80, verbose_name="material"),
                        ),
                        ("description", models.TextField(blank=True, verbose_name="description")),
                        (
                            "count",
                            models.PositiveIntegerField(
                                default=1,
                                validators=[django.core.validators.MinValueValidator(1)],
                                verbose_name="count",
                            ),
                        ),
                        (
                            "length_mm",
                            models.FloatField(blank=True, null=True, verbose_name="length"),
                        ),
                        (
                            "width_mm",
                            models.FloatField(blank=True, null=True, verbose_name="width"),
                        ),
                        (
                            "height_mm",
                            models.FloatField(blank=True, null=True, verbose_name="height"),
                        ),
                        (
                            "weight_g",
                            models.FloatField(blank=True, null=True, verbose_name="weight"),
                        ),
                        (
                            "condition",
                            models.CharField(blank=True, max_length=120, verbose_name="condition"),
                        ),
                        (
                            "whereabouts",
                            models.CharField(
                                choices=[("in_place", "in place"), ("lifted", "lifted")],
                                default="in_place",
                                max_length=8,
                                verbose_name="in place or lifted",
                            ),
                        ),
                        ("found_on", models.DateField(verbose_name="found on")),
                        (
                            "restriction",
                            models.CharField(
                                choices=[
                                    ("none", "none"),
                                    ("human_remains", "human remains"),
                                    ("ordnance", "suspected ordnance"),
                                ],
                                default="none",
                                max_length=13,
                                verbose_name="restricted because of",
                            ),
                        ),
                        ("search_text", models.TextField(default="", editable=False)),
                        (
                            "dive",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="finds",
                                to="records.dive",
                            ),
                        ),
                        (
                            "found_by",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="finds",
                                to="records.diver",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "season",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="%(class)ss",
                                to="records.season",
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="finds",
                                to="records.square",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="finds",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["n"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="find_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("season", "n"),
                                name="find_number_once_in_season",
                                violation_error_message="This number is already taken in the season.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("square__isnull", False),
                                    models.Q(("where_in_words", ""), _negated=True),
                                    _connector="OR",
                                ),
                                name="find_on_a_square_or_in_words",
                                violation_error_message="A find names its square, or says in words where it lay.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Fix",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("x_m", models.FloatField()),
                        ("y_m", models.FloatField()),
                        ("depth_m", models.FloatField(blank=True, null=True, verbose_name="depth")),
                        (
                            "sigma_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.0001)],
                                verbose_name="uncertainty (σ)",
                            ),
                        ),
                        (
                            "method",
                            models.CharField(
                                choices=[("offsets", "offsets from the square's corner")],
                                default="offsets",
                                max_length=10,
                            ),
                        ),
                        (
                            "find",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="fixes",
                                to="records.find",
                            ),
                        ),
                        (
                            "grid",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="fixes",
                                to="records.grid",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="fix_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(("voided_at", None)),
                                fields=("find",),
                                name="fix_one_standing_a_find",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("sigma_m__gt", 0)), name="fix_has_sigma"
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Photograph",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("n", models.PositiveIntegerField(editable=False, verbose_name="number")),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("frame", "tower frame"),
                                    ("record_shot", "record shot"),
                                    ("detail", "detail"),
                                    ("working_shot", "working shot"),
                                    ("slate", "slate"),
                                    ("find", "find"),
                                    ("other", "other"),
                                ],
                                max_length=12,
                                verbose_name="kind",
                            ),
                        ),
                        (
                            "subject",
                            models.CharField(blank=True, max_length=200, verbose_name="subject"),
                        ),
                        (
                            "facing",
                            models.CharField(blank=True, max_length=40, verbose_name="facing"),
                        ),
                        (
                            "scale_words",
                            models.CharField(
                                blank=True, max_length=60, verbose_name="scale in the picture"
                            ),
                        ),
                        (
                            "dive",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="photographs",
                                to="records.dive",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "photographer",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="photographs",
                                to="records.diver",
                            ),
                        ),
                        (
                            "season",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="%(class)ss",
                                to="records.season",
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="photographs",
                                to="records.square",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="photographs",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "picture",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="photograph",
                                to="records.picture",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["n"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="photograph_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("season", "n"),
                                name="photograph_number_once_in_season",
                                violation_error_message="This number is already taken in the season.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="RunRow",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("order", models.PositiveSmallIntegerField(verbose_name="row")),
                        ("start_x_m", models.FloatField(verbose_name="first station x")),
                        ("start_y_m", models.FloatField(verbose_name="first station y")),
                        (
                            "direction_deg",
                            models.FloatField(
                                default=0, verbose_name="direction, from +x counter-clockwise"
                            ),
                        ),
                        (
                            "step_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.01)],
                                verbose_name="step",
                            ),
                        ),
                        (
                            "stations",
                            models.PositiveSmallIntegerField(
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(500),
                                ],
                                verbose_name="stations",
                            ),
                        ),
                        (
                            "turn_deg",
                            models.FloatField(
                                default=0, verbose_name="turn of the tower, counter-clockwise"
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "run",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="rows",
                                to="records.photorun",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["order"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="runrow_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("run", "order"), name="runrow_order_once_in_run"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("stations__gte", 1), ("step_m__gt", 0)),
                                name="runrow_goes_somewhere",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Frame",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("station", models.PositiveSmallIntegerField(null=True)),
                        ("foot_x_m", models.FloatField(default=0)),
                        ("foot_y_m", models.FloatField(default=0)),
                        ("sharpness", models.FloatField(null=True)),
                        ("exposure", models.FloatField(null=True)),
                        ("is_kept", models.BooleanField(default=True)),
                        ("left_out_reason", models.CharField(blank=True, max_length=200)),
                        (
                            "card",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="frames",
                                to="records.card",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "photograph",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="frame",
                                to="records.photograph",
                            ),
                        ),
                        (
                            "placement",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="frames",
                                to="records.placement",
                            ),
                        ),
                        (
                            "row",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="frames",
                                to="records.runrow",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["row__order", "station"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="frame_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("is_kept", True), ("placement__isnull", False)),
                                    models.Q(
                                        ("is_kept", False),
                                        models.Q(("left_out_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="frame_kept_has_a_placement_left_out_a_reason",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="FrameOnSquare",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("fraction", models.FloatField()),
                        (
                            "frame",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="on_squares",
                                to="records.frame",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="frames",
                                to="records.square",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="frameonsquare_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("frame", "square"), name="frameonsquare_once"
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="HistoricalCardStep",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("words", models.CharField(max_length=200)),
                        ("before", models.JSONField()),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "card",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.card",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical card step",
                        "verbose_name_plural": "historical card steps",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalDrawingCheck",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "verdict",
                            models.CharField(
                                choices=[("accepted", "accepted"), ("redo", "sent back")],
                                max_length=8,
                            ),
                        ),
                        (
                            "why",
                            models.CharField(
                                blank=True,
                                choices=[
                                    ("no_square_number", "no square number"),
                                    ("no_corner_mark", "no corner mark"),
                                    ("edge", "edge does not meet its neighbour"),
                                    ("no_levels", "no levels"),
                                    ("other", "another reason"),
                                ],
                                max_length=16,
                            ),
                        ),
                        ("words", models.TextField(blank=True, verbose_name="in words")),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "drawn_square",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.drawnsquare",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical drawing check",
                        "verbose_name_plural": "historical drawing checks",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalFind",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("n", models.PositiveIntegerField(editable=False, verbose_name="number")),
                        (
                            "where_in_words",
                            models.CharField(
                                blank=True, max_length=200, verbose_name="where, in words"
                            ),
                        ),
                        (
                            "object_name",
                            models.CharField(max_length=80, verbose_name="object name"),
                        ),
                        (
                            "material",
                            models.CharField(blank=True, max_length=80, verbose_name="material"),
                        ),
                        ("description", models.TextField(blank=True, verbose_name="description")),
                        (
                            "count",
                            models.PositiveIntegerField(
                                default=1,
                                validators=[django.core.validators.MinValueValidator(1)],
                                verbose_name="count",
                            ),
                        ),
                        (
                            "length_mm",
                            models.FloatField(blank=True, null=True, verbose_name="length"),
                        ),
                        (
                            "width_mm",
                            models.FloatField(blank=True, null=True, verbose_name="width"),
                        ),
                        (
                            "height_mm",
                            models.FloatField(blank=True, null=True, verbose_name="height"),
                        ),
                        (
                            "weight_g",
                            models.FloatField(blank=True, null=True, verbose_name="weight"),
                        ),
                        (
                            "condition",
                            models.CharField(blank=True, max_length=120, verbose_name="condition"),
                        ),
                        (
                            "whereabouts",
                            models.CharField(
                                choices=[("in_place", "in place"), ("lifted", "lifted")],
                                default="in_place",
                                max_length=8,
                                verbose_name="in place or lifted",
                            ),
                        ),
                        ("found_on", models.DateField(verbose_name="found on")),
                        (
                            "restriction",
                            models.CharField(
                                choices=[
                                    ("none", "none"),
                                    ("human_remains", "human remains"),
                                    ("ordnance", "suspected ordnance"),
                                ],
                                default="none",
                                max_length=13,
                                verbose_name="restricted because of",
                            ),
                        ),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "dive",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.dive",
                            ),
                        ),
                        (
                            "found_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.diver",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "season",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.season",
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.square",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical find",
                        "verbose_name_plural": "historical finds",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalFix",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("x_m", models.FloatField()),
                        ("y_m", models.FloatField()),
                        ("depth_m", models.FloatField(blank=True, null=True, verbose_name="depth")),
                        (
                            "sigma_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.0001)],
                                verbose_name="uncertainty (σ)",
                            ),
                        ),
                        (
                            "method",
                            models.CharField(
                                choices=[("offsets", "offsets from the square's corner")],
                                default="offsets",
                                max_length=10,
                            ),
                        ),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "find",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.find",
                            ),
                        ),
                        (
                            "grid",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.grid",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical fix",
                        "verbose_name_plural": "historical fixs",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalFrameOnSquare",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("fraction", models.FloatField()),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "frame",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.frame",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.square",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical frame on square",
                        "verbose_name_plural": "historical frame on squares",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalLens",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("name", models.CharField(max_length=120, verbose_name="lens and port")),
                        (
                            "focal_length_mm",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(1)],
                                verbose_name="focal length",
                            ),
                        ),
                        ("distortion", models.JSONField(blank=True, default=dict)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "site",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.site",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical lens",
                        "verbose_name_plural": "historical lenss",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSecondCopy",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("folder", models.CharField(max_length=400, verbose_name="folder")),
                        ("finished_at", models.DateTimeField(null=True)),
                        ("is_good", models.BooleanField(default=False)),
                        ("words", models.TextField(blank=True)),
                        ("files_total", models.PositiveIntegerField(default=0)),
                        ("files_new", models.PositiveIntegerField(default=0)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical second copy",
                        "verbose_name_plural": "historical second copys",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSquareCoverage",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("fraction", models.FloatField()),
                        ("holes", models.JSONField(default=list)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.square",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical square coverage",
                        "verbose_name_plural": "historical square coverages",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalStoredFile",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("sha256", models.CharField(db_index=True, editable=False, max_length=64)),
                        ("size_bytes", models.PositiveBigIntegerField(editable=False)),
                        ("media_type", models.CharField(editable=False, max_length=60)),
                        ("width_px", models.PositiveIntegerField(editable=False, null=True)),
                        ("height_px", models.PositiveIntegerField(editable=False, null=True)),
                        ("on_second_copy_at", models.DateTimeField(editable=False, null=True)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical stored file",
                        "verbose_name_plural": "historical stored files",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="Job",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        ("kind", models.CharField(max_length=40)),
                        ("queue", models.CharField(max_length=8)),
                        ("argument", models.JSONField(default=dict)),
                        ("asked_at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "state",
                            models.CharField(
                                choices=[
                                    ("waiting", "waiting"),
                                    ("running", "running"),
                                    ("done", "done"),
                                    ("stopped", "stopped"),
                                    ("failed", "failed"),
                                ],
                                default="waiting",
                                max_length=8,
                            ),
                        ),
                        ("started_at", models.DateTimeField(null=True)),
                        ("finished_at", models.DateTimeField(null=True)),
                        ("heartbeat_at", models.DateTimeField(null=True)),
                        ("stop_asked_at", models.DateTimeField(null=True)),
                        ("done", models.PositiveIntegerField(default=0)),
                        ("total", models.PositiveIntegerField(default=0)),
                        ("message", models.TextField(blank=True)),
                        ("attempts", models.PositiveSmallIntegerField(default=0)),
                        ("result", models.JSONField(default=dict)),
                        (
                            "asked_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="jobs",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "site",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="jobs",
                                to="records.site",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-asked_at"],
                        "indexes": [
                            models.Index(fields=["state", "queue"], name="job_state_queue")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="HistoricalTowerSetUp",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "name",
                            models.CharField(max_length=80, verbose_name="name of the set-up"),
                        ),
                        ("camera", models.CharField(max_length=120, verbose_name="camera")),
                        (
                            "sensor_width_mm",
                            models.FloatField(blank=True, null=True, verbose_name="sensor width"),
                        ),
                        (
                            "focal_length_mm",
                            models.FloatField(blank=True, null=True, verbose_name="focal length"),
                        ),
                        ("port", models.CharField(blank=True, max_length=80, verbose_name="port")),
                        (
                            "height_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.1)],
                                verbose_name="height above the base",
                            ),
                        ),
                        (
                            "orientation",
                            models.PositiveSmallIntegerField(
                                default=1,
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(8),
                                ],
                                verbose_name="how its pictures are turned",
                            ),
                        ),
                        (
                            "picture_width_px",
                            models.PositiveIntegerField(verbose_name="picture width, upright"),
                        ),
                        (
                            "picture_height_px",
                            models.PositiveIntegerField(verbose_name="picture height, upright"),
                        ),
                        (
                            "footprint_x_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.05)],
                                verbose_name="footprint along x",
                            ),
                        ),
                        (
                            "footprint_y_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.05)],
                                verbose_name="footprint along y",
                            ),
                        ),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "site",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.site",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "lens",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.lens",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical tower set up",
                        "verbose_name_plural": "historical tower set ups",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalRunRow",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("order", models.PositiveSmallIntegerField(verbose_name="row")),
                        ("start_x_m", models.FloatField(verbose_name="first station x")),
                        ("start_y_m", models.FloatField(verbose_name="first station y")),
                        (
                            "direction_deg",
                            models.FloatField(
                                default=0, verbose_name="direction, from +x counter-clockwise"
                            ),
                        ),
                        (
                            "step_m",
                            models.FloatField(
                                validators=[django.core.validators.MinValueValidator(0.01)],
                                verbose_name="step",
                            ),
                        ),
                        (
                            "stations",
                            models.PositiveSmallIntegerField(
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(500),
                                ],
                                verbose_name="stations",
                            ),
                        ),
                        (
                            "turn_deg",
                            models.FloatField(
                                default=0, verbose_name="turn of the tower, counter-clockwise"
                            ),
                        ),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "run",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.photorun",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical run row",
                        "verbose_name_plural": "historical run rows",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalCard",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "clock_offset_s",
                            models.FloatField(default=0, verbose_name="camera clock, seconds fast"),
                        ),
                        (
                            "state",
                            models.CharField(
                                choices=[
                                    ("arriving", "files are arriving"),
                                    ("accepted", "accepted"),
                                ],
                                default="arriving",
                                editable=False,
                                max_length=10,
                            ),
                        ),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "dive",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.dive",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "run",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.photorun",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical card",
                        "verbose_name_plural": "historical cards",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalPhotograph",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("n", models.PositiveIntegerField(editable=False, verbose_name="number")),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("frame", "tower frame"),
                                    ("record_shot", "record shot"),
                                    ("detail", "detail"),
                                    ("working_shot", "working shot"),
                                    ("slate", "slate"),
                                    ("find", "find"),
                                    ("other", "other"),
                                ],
                                max_length=12,
                                verbose_name="kind",
                            ),
                        ),
                        (
                            "subject",
                            models.CharField(blank=True, max_length=200, verbose_name="subject"),
                        ),
                        (
                            "facing",
                            models.CharField(blank=True, max_length=40, verbose_name="facing"),
                        ),
                        (
                            "scale_words",
                            models.CharField(
                                blank=True, max_length=60, verbose_name="scale in the picture"
                            ),
                        ),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "dive",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.dive",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "photographer",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.diver",
                            ),
                        ),
                        (
                            "season",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.season",
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.square",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "picture",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.picture",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical photograph",
                        "verbose_name_plural": "historical photographs",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalFindPicture",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "find",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.find",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "picture",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.picture",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical find picture",
                        "verbose_name_plural": "historical find pictures",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalDrawing",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("n", models.PositiveIntegerField(editable=False, verbose_name="number")),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("plan", "plan"),
                                    ("section", "section"),
                                    ("elevation", "elevation"),
                                    ("detail", "detail"),
                                    ("sketch", "sketch"),
                                ],
                                default="plan",
                                max_length=10,
                                verbose_name="kind",
                            ),
                        ),
                        (
                            "scale",
                            models.PositiveSmallIntegerField(
                                default=10,
                                validators=[django.core.validators.MinValueValidator(1)],
                                verbose_name="scale 1 to",
                            ),
                        ),
                        (
                            "frame_lies",
                            models.CharField(
                                choices=[("level", "level"), ("slope", "on the slope")],
                                default="level",
                                max_length=5,
                                verbose_name="frame lay",
                            ),
                        ),
                        ("note", models.TextField(blank=True, verbose_name="note")),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "dive",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.dive",
                            ),
                        ),
                        (
                            "drawn_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.diver",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "inked_from",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.drawing",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "season",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.season",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "picture",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.picture",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical drawing",
                        "verbose_name_plural": "historical drawings",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="FindPicture",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "find",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="pictures",
                                to="records.find",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "picture",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="finds",
                                to="records.picture",
                            ),
                        ),
                    ],
                    options={
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="findpicture_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("find", "picture"), name="findpicture_once"
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Mark",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("u_px", models.FloatField()),
                        ("v_px", models.FloatField()),
                        ("x_m", models.FloatField()),
                        ("y_m", models.FloatField()),
                        ("label", models.CharField(blank=True, max_length=40)),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "placement",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="marks",
                                to="records.placement",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["made_at"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="mark_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="HistoricalMark",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("u_px", models.FloatField()),
                        ("v_px", models.FloatField()),
                        ("x_m", models.FloatField()),
                        ("y_m", models.FloatField()),
                        ("label", models.CharField(blank=True, max_length=40)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "placement",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.placement",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical mark",
                        "verbose_name_plural": "historical marks",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalDrawnSquare",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "extent",
                            models.CharField(
                                choices=[("whole", "the whole square"), ("part", "a part of it")],
                                default="whole",
                                max_length=5,
                                verbose_name="drawn",
                            ),
                        ),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "drawing",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.drawing",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.square",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "placement",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.placement",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical drawn square",
                        "verbose_name_plural": "historical drawn squares",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalFrame",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("station", models.PositiveSmallIntegerField(null=True)),
                        ("foot_x_m", models.FloatField(default=0)),
                        ("foot_y_m", models.FloatField(default=0)),
                        ("sharpness", models.FloatField(null=True)),
                        ("exposure", models.FloatField(null=True)),
                        ("is_kept", models.BooleanField(default=True)),
                        ("left_out_reason", models.CharField(blank=True, max_length=200)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "card",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.card",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "photograph",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.photograph",
                            ),
                        ),
                        (
                            "placement",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.placement",
                            ),
                        ),
                        (
                            "row",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.runrow",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical frame",
                        "verbose_name_plural": "historical frames",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="SecondCopy",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("folder", models.CharField(max_length=400, verbose_name="folder")),
                        ("finished_at", models.DateTimeField(null=True)),
                        ("is_good", models.BooleanField(default=False)),
                        ("words", models.TextField(blank=True)),
                        ("files_total", models.PositiveIntegerField(default=0)),
                        ("files_new", models.PositiveIntegerField(default=0)),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-made_at"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="secondcopy_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="SquareCoverage",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("fraction", models.FloatField()),
                        ("holes", models.JSONField(default=list)),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "square",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="coverages",
                                to="records.square",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="coverages",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="squarecoverage_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("stage", "square"), name="squarecoverage_once"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("fraction__gte", 0), ("fraction__lte", 1)),
                                name="squarecoverage_is_a_share",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="IncomingFrame",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "role",
                            models.CharField(
                                choices=[
                                    ("frame", "picture"),
                                    ("raw", "raw file"),
                                    ("video", "video"),
                                ],
                                default="frame",
                                max_length=6,
                            ),
                        ),
                        ("original_name", models.CharField(max_length=255)),
                        ("size_bytes", models.PositiveBigIntegerField()),
                        ("modified_ms", models.BigIntegerField(default=0)),
                        ("station", models.PositiveSmallIntegerField(null=True)),
                        ("left_out_reason", models.CharField(blank=True, max_length=200)),
                        (
                            "card",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="incoming",
                                to="records.card",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "picture",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="incoming",
                                to="records.picture",
                            ),
                        ),
                        (
                            "row",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="incoming",
                                to="records.runrow",
                            ),
                        ),
                        (
                            "file",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="incoming",
                                to="records.storedfile",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["original_name"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="incomingframe_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("card", "original_name", "size_bytes", "modified_ms"),
                                name="incomingframe_file_once_on_card",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("row", None), ("station", None)),
                                    models.Q(("row__isnull", False), ("station__isnull", False)),
                                    _connector="OR",
                                ),
                                name="incomingframe_row_and_station_together",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="HistoricalPicture",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "original_name",
                            models.CharField(
                                editable=False, max_length=255, verbose_name="original name"
                            ),
                        ),
                        (
                            "orientation",
                            models.PositiveSmallIntegerField(
                                default=1,
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(8),
                                ],
                            ),
                        ),
                        (
                            "taken_at",
                            models.DateTimeField(blank=True, null=True, verbose_name="taken at"),
                        ),
                        ("exif", models.JSONField(default=dict, editable=False)),
                        ("caption", models.TextField(blank=True, verbose_name="caption")),
                        (
                            "creator",
                            models.CharField(blank=True, max_length=120, verbose_name="made by"),
                        ),
                        (
                            "rights",
                            models.CharField(blank=True, max_length=200, verbose_name="rights"),
                        ),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "site",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.site",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "file",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.storedfile",
                            ),
                        ),
                        (
                            "raw_file",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.storedfile",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical picture",
                        "verbose_name_plural": "historical pictures",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalIncomingFrame",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "role",
                            models.CharField(
                                choices=[
                                    ("frame", "picture"),
                                    ("raw", "raw file"),
                                    ("video", "video"),
                                ],
                                default="frame",
                                max_length=6,
                            ),
                        ),
                        ("original_name", models.CharField(max_length=255)),
                        ("size_bytes", models.PositiveBigIntegerField()),
                        ("modified_ms", models.BigIntegerField(default=0)),
                        ("station", models.PositiveSmallIntegerField(null=True)),
                        ("left_out_reason", models.CharField(blank=True, max_length=200)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "card",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.card",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "picture",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.picture",
                            ),
                        ),
                        (
                            "row",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.runrow",
                            ),
                        ),
                        (
                            "file",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.storedfile",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical incoming frame",
                        "verbose_name_plural": "historical incoming frames",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalPlacement",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("h", models.JSONField(editable=False)),
                        ("width_px", models.PositiveIntegerField(editable=False)),
                        ("height_px", models.PositiveIntegerField(editable=False)),
                        (
                            "method",
                            models.CharField(
                                choices=[
                                    ("footprint", "typed footprint"),
                                    ("marks", "marks"),
                                    ("station", "station of a run"),
                                ],
                                max_length=10,
                            ),
                        ),
                        ("degrees_of_freedom", models.PositiveSmallIntegerField(null=True)),
                        ("rms_px", models.FloatField(null=True)),
                        ("rms_mm", models.FloatField(null=True)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "grid",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.grid",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "lens",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.lens",
                            ),
                        ),
                        (
                            "picture",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.picture",
                            ),
                        ),
                        (
                            "set_up",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.towersetup",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical placement",
                        "verbose_name_plural": "historical placements",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalPhotoRun",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("name", models.CharField(max_length=80, verbose_name="name of the run")),
                        ("note", models.TextField(blank=True, verbose_name="note")),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "grid",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.grid",
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "season",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.season",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.stage",
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "set_up",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.towersetup",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical photo run",
                        "verbose_name_plural": "historical photo runs",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="CardStep",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("words", models.CharField(max_length=200)),
                        ("before", models.JSONField()),
                        (
                            "card",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="steps",
                                to="records.card",
                            ),
                        ),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["made_at"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="cardstep_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="DrawingCheck",
                    fields=[
                        (
                            "id",
                            models.UUIDField(
                                default=uuid.uuid4,
                                editable=False,
                                primary_key=True,
                                serialize=False,
                            ),
                        ),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        (
                            "verdict",
                            models.CharField(
                                choices=[("accepted", "accepted"), ("redo", "sent back")],
                                max_length=8,
                            ),
                        ),
                        (
                            "why",
                            models.CharField(
                                blank=True,
                                choices=[
                                    ("no_square_number", "no square number"),
                                    ("no_corner_mark", "no corner mark"),
                                    ("edge", "edge does not meet its neighbour"),
                                    ("no_levels", "no levels"),
                                    ("other", "another reason"),
                                ],
                                max_length=16,
                            ),
                        ),
                        ("words", models.TextField(blank=True, verbose_name="in words")),
                        (
                            "made_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "voided_by",
                            models.ForeignKey(
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "drawn_square",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="checks",
                                to="records.drawnsquare",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["made_at"],
                        "abstract": False,
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("void_reason", ""),
                                        ("voided_at", None),
                                        ("voided_by", None),
                                    ),
                                    models.Q(
                                        ("voided_at__isnull", False),
                                        ("voided_by__isnull", False),
                                        models.Q(("void_reason", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="drawingcheck_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("verdict", "accepted"), ("why", "")),
                                    models.Q(
                                        ("verdict", "redo"),
                                        models.Q(("why", ""), _negated=True),
                                        models.Q(
                                            models.Q(("why", "other"), _negated=True),
                                            models.Q(("words", ""), _negated=True),
                                            _connector="OR",
                                        ),
                                    ),
                                    _connector="OR",
                                ),
                                name="drawingcheck_redo_says_why",
                                violation_error_message="Say why the drawing goes back.",
                            ),
                        ],
                    },
                ),
            ]
        )
    ]
