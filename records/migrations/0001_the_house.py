import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import records.models.season
import records.models.site
import simple_history.models
import uuid
from django.conf import settings
from django.db import migrations, models

from records.migrations._together import CreateModels


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="Account",
                    fields=[
                        ("password", models.CharField(max_length=128, verbose_name="password")),
                        (
                            "last_login",
                            models.DateTimeField(blank=True, null=True, verbose_name="last login"),
                        ),
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
                            "sign_in_name",
                            models.CharField(
                                max_length=80, unique=True, verbose_name="sign-in name"
                            ),
                        ),
                        ("name", models.CharField(max_length=120, verbose_name="name")),
                        (
                            "is_active",
                            models.BooleanField(default=True, verbose_name="may sign in"),
                        ),
                        (
                            "is_administrator",
                            models.BooleanField(default=False, verbose_name="administrator"),
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
                                name="account_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Site",
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
                            "code",
                            models.SlugField(max_length=20, unique=True, verbose_name="site code"),
                        ),
                        ("name", models.CharField(max_length=120, verbose_name="name of the site")),
                        (
                            "description",
                            models.TextField(blank=True, verbose_name="what lies here"),
                        ),
                        (
                            "object_names",
                            models.JSONField(
                                default=records.models.site.usual_object_names,
                                verbose_name="object names",
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
                                name="site_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Season",
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
                            "code",
                            models.SlugField(
                                max_length=20, unique=True, verbose_name="season code"
                            ),
                        ),
                        (
                            "name",
                            models.CharField(max_length=120, verbose_name="name of the season"),
                        ),
                        ("starts_on", models.DateField(verbose_name="first day")),
                        ("ends_on", models.DateField(verbose_name="last day")),
                        (
                            "zone",
                            models.CharField(
                                default="UTC",
                                max_length=60,
                                validators=[records.models.season.check_zone],
                                verbose_name="time zone",
                            ),
                        ),
                        (
                            "coverage_needed_fraction",
                            models.FloatField(
                                default=0.98,
                                verbose_name="share of a square that photographs must cover",
                            ),
                        ),
                        (
                            "disagreement_limit_mm",
                            models.FloatField(
                                default=30, verbose_name="drawing and photograph may differ by"
                            ),
                        ),
                        (
                            "tell_human_remains",
                            models.TextField(
                                blank=True,
                                help_text="Name, place in the team and telephone number.",
                                verbose_name="whom to tell of human remains",
                            ),
                        ),
                        (
                            "tell_ordnance",
                            models.TextField(
                                blank=True,
                                help_text="Name, place in the team and telephone number.",
                                verbose_name="whom to tell of suspected ordnance",
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
                            "site",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="seasons",
                                to="records.site",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-starts_on"],
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
                                name="season_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("ends_on__gte", models.F("starts_on"))),
                                name="season_ends_after_start",
                                violation_error_message="The last day cannot come before the first.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("coverage_needed_fraction__gt", 0),
                                    ("coverage_needed_fraction__lte", 1),
                                ),
                                name="season_coverage_is_a_share",
                                violation_error_message="The share lies above 0 and at most at 1 (98 % is 0.98).",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="DivingDay",
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
                        ("date", models.DateField(verbose_name="date")),
                        (
                            "vessel",
                            models.CharField(max_length=80, verbose_name="vessel or platform"),
                        ),
                        ("place", models.CharField(max_length=160, verbose_name="place of diving")),
                        (
                            "contractor",
                            models.CharField(max_length=120, verbose_name="diving contractor"),
                        ),
                        (
                            "plan_reference",
                            models.CharField(
                                blank=True, max_length=120, verbose_name="diving project plan"
                            ),
                        ),
                        (
                            "risk_assessment_reference",
                            models.CharField(
                                blank=True, max_length=120, verbose_name="risk assessment"
                            ),
                        ),
                        (
                            "schedule_used",
                            models.CharField(
                                blank=True,
                                max_length=160,
                                verbose_name="tables or computers used, as the supervisor told",
                            ),
                        ),
                        ("briefing", models.TextField(blank=True, verbose_name="briefing")),
                        (
                            "pre_dive_checks",
                            models.TextField(blank=True, verbose_name="pre-dive checks"),
                        ),
                        (
                            "weather",
                            models.CharField(blank=True, max_length=120, verbose_name="weather"),
                        ),
                        (
                            "sea_state",
                            models.CharField(blank=True, max_length=80, verbose_name="sea state"),
                        ),
                        (
                            "current",
                            models.CharField(blank=True, max_length=80, verbose_name="current"),
                        ),
                        (
                            "emergency_arrangements",
                            models.TextField(blank=True, verbose_name="emergency arrangements"),
                        ),
                        ("incidents", models.TextField(blank=True, verbose_name="incidents")),
                        (
                            "hours_lost",
                            models.FloatField(
                                default=0,
                                validators=[
                                    django.core.validators.MinValueValidator(0),
                                    django.core.validators.MaxValueValidator(24),
                                ],
                                verbose_name="hours lost",
                            ),
                        ),
                        (
                            "hours_lost_reason",
                            models.CharField(
                                blank=True, max_length=200, verbose_name="why they were lost"
                            ),
                        ),
                        ("diary", models.TextField(blank=True, verbose_name="diary")),
                        (
                            "answers",
                            models.JSONField(
                                blank=True, default=dict, verbose_name="unlikely values, confirmed"
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
                            "season",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="days",
                                to="records.season",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-date", "vessel"],
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
                                name="divingday_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(("voided_at", None)),
                                fields=("season", "date", "vessel"),
                                name="divingday_once_a_date_and_vessel",
                                violation_error_message="This day is already open for this vessel.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("hours_lost__gte", 0), ("hours_lost__lte", 24)),
                                name="divingday_hours_lost_in_a_day",
                                violation_error_message="Hours lost lie between 0 and 24.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Dive",
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
                            "purpose",
                            models.CharField(
                                choices=[
                                    ("record", "recording squares"),
                                    ("photo_run", "photo run"),
                                    ("survey", "measuring and control"),
                                    ("clearing", "clearing and lifting"),
                                    ("rigging", "rigging grid and rails"),
                                    ("search", "search"),
                                    ("other", "other work"),
                                ],
                                default="record",
                                max_length=12,
                                verbose_name="purpose",
                            ),
                        ),
                        ("left_surface_at", models.DateTimeField(verbose_name="left the surface")),
                        (
                            "reached_surface_at",
                            models.DateTimeField(
                                blank=True,
                                help_text="Empty while under way.",
                                null=True,
                                verbose_name="reached the surface",
                            ),
                        ),
                        (
                            "greatest_depth_m",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[
                                    django.core.validators.MinValueValidator(0),
                                    django.core.validators.MaxValueValidator(350),
                                ],
                                verbose_name="greatest depth",
                            ),
                        ),
                        (
                            "bottom_minutes",
                            models.PositiveSmallIntegerField(
                                blank=True, null=True, verbose_name="bottom time"
                            ),
                        ),
                        (
                            "visibility_m",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[django.core.validators.MinValueValidator(0)],
                                verbose_name="visibility",
                            ),
                        ),
                        (
                            "water_temperature_c",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[
                                    django.core.validators.MinValueValidator(-3),
                                    django.core.validators.MaxValueValidator(45),
                                ],
                                verbose_name="water temperature",
                            ),
                        ),
                        ("remarks", models.TextField(blank=True, verbose_name="remarks")),
                        (
                            "answers",
                            models.JSONField(
                                blank=True, default=dict, verbose_name="unlikely values, confirmed"
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
                            "day",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="dives",
                                to="records.divingday",
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
                                name="dive_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("season", "n"),
                                name="dive_number_once_in_season",
                                violation_error_message="This number is already taken in the season.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("reached_surface_at", None),
                                    ("reached_surface_at__gt", models.F("left_surface_at")),
                                    _connector="OR",
                                ),
                                name="dive_surfaces_after_leaving",
                                violation_error_message="A dive cannot end before it begins.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("greatest_depth_m", None),
                                    models.Q(
                                        ("greatest_depth_m__gte", 0), ("greatest_depth_m__lte", 350)
                                    ),
                                    _connector="OR",
                                ),
                                name="dive_depth_possible",
                                violation_error_message="This depth cannot be.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Diver",
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
                        ("name", models.CharField(max_length=120, verbose_name="name")),
                        ("initials", models.CharField(max_length=6, verbose_name="initials")),
                        (
                            "account",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="divers",
                                to=settings.AUTH_USER_MODEL,
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
                            "site",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="divers",
                                to="records.site",
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
                                name="diver_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(("voided_at", None)),
                                fields=("site", "initials"),
                                name="diver_initials_once_in_site",
                                violation_error_message="A diver on this site already has these initials.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="DiveMember",
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
                                    ("diver", "diver"),
                                    ("leader", "dive leader"),
                                    ("standby", "standby diver"),
                                    ("tender", "tender"),
                                ],
                                default="diver",
                                max_length=8,
                                verbose_name="part in the dive",
                            ),
                        ),
                        (
                            "gas",
                            models.CharField(
                                blank=True,
                                choices=[
                                    ("air", "air"),
                                    ("nitrox", "nitrox"),
                                    ("trimix", "trimix"),
                                    ("oxygen", "oxygen"),
                                    ("other", "other mixture"),
                                ],
                                max_length=8,
                                verbose_name="breathing gas",
                            ),
                        ),
                        (
                            "oxygen_percent",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(100),
                                ],
                                verbose_name="oxygen in the mixture",
                            ),
                        ),
                        (
                            "apparatus",
                            models.CharField(
                                blank=True, max_length=80, verbose_name="breathing apparatus"
                            ),
                        ),
                        (
                            "left_surface_at",
                            models.DateTimeField(
                                blank=True, null=True, verbose_name="own time down"
                            ),
                        ),
                        (
                            "reached_surface_at",
                            models.DateTimeField(blank=True, null=True, verbose_name="own time up"),
                        ),
                        (
                            "greatest_depth_m",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[
                                    django.core.validators.MinValueValidator(0),
                                    django.core.validators.MaxValueValidator(350),
                                ],
                                verbose_name="own greatest depth",
                            ),
                        ),
                        (
                            "narrative",
                            models.TextField(
                                blank=True, verbose_name="what this diver did and saw"
                            ),
                        ),
                        (
                            "dive",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="members",
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
                            "diver",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="dives",
                                to="records.diver",
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
                                name="divemember_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("dive", "diver"),
                                name="divemember_once_in_dive",
                                violation_error_message="This diver is already in the team of this dive.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Cylinder",
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
                            "size_l",
                            models.FloatField(
                                validators=[
                                    django.core.validators.MinValueValidator(0.1),
                                    django.core.validators.MaxValueValidator(100),
                                ],
                                verbose_name="size",
                            ),
                        ),
                        (
                            "bar_in",
                            models.PositiveSmallIntegerField(
                                validators=[django.core.validators.MaxValueValidator(400)],
                                verbose_name="pressure in",
                            ),
                        ),
                        (
                            "bar_out",
                            models.PositiveSmallIntegerField(
                                blank=True, null=True, verbose_name="pressure out"
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
                            "member",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="cylinders",
                                to="records.divemember",
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
                                name="cylinder_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("bar_out", None),
                                    ("bar_out__lte", models.F("bar_in")),
                                    _connector="OR",
                                ),
                                name="cylinder_does_not_fill_itself",
                                violation_error_message="A cylinder cannot come back fuller than it went in.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="DiverPaper",
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
                            "kind",
                            models.CharField(
                                choices=[
                                    ("qualification", "diving qualification"),
                                    ("medical", "medical certificate"),
                                    ("first_aid", "first aid and oxygen"),
                                    ("insurance", "insurance"),
                                    ("other", "other paper"),
                                ],
                                max_length=16,
                                verbose_name="kind",
                            ),
                        ),
                        (
                            "reference",
                            models.CharField(blank=True, max_length=120, verbose_name="reference"),
                        ),
                        (
                            "issued_on",
                            models.DateField(blank=True, null=True, verbose_name="issued on"),
                        ),
                        (
                            "expires_on",
                            models.DateField(blank=True, null=True, verbose_name="valid until"),
                        ),
                        ("note", models.TextField(blank=True, verbose_name="note")),
                        (
                            "diver",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="papers",
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
                        "ordering": ["diver", "kind", "-expires_on"],
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
                                name="diverpaper_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("issued_on", None),
                                    ("expires_on", None),
                                    ("expires_on__gte", models.F("issued_on")),
                                    _connector="OR",
                                ),
                                name="diverpaper_expires_after_issue",
                                violation_error_message="A paper cannot expire before it was issued.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Grid",
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
                        ("code", models.SlugField(max_length=12, verbose_name="short code")),
                        ("name", models.CharField(max_length=80, verbose_name="name of the grid")),
                        ("origin_e_m", models.FloatField(default=0, verbose_name="origin peg E")),
                        ("origin_n_m", models.FloatField(default=0, verbose_name="origin peg N")),
                        (
                            "origin_z_m",
                            models.FloatField(default=0, verbose_name="origin peg Z, up"),
                        ),
                        (
                            "bearing_deg",
                            models.FloatField(
                                default=0, verbose_name="bearing of the rows, from site north"
                            ),
                        ),
                        (
                            "slope_deg",
                            models.FloatField(
                                default=0,
                                help_text="0 lies flat (a plan), 90 stands upright (an elevation).",
                                verbose_name="slope",
                            ),
                        ),
                        (
                            "side_m",
                            models.FloatField(
                                default=1,
                                validators=[django.core.validators.MinValueValidator(0.1)],
                                verbose_name="side of a square",
                            ),
                        ),
                        (
                            "label_style",
                            models.CharField(
                                choices=[
                                    ("letters", "letters and number, like K7"),
                                    ("corner", "south-west corner in metres, like 104/212"),
                                ],
                                default="letters",
                                max_length=8,
                                verbose_name="labels",
                            ),
                        ),
                        (
                            "first_column",
                            models.CharField(
                                default="A", max_length=8, verbose_name="label of column 0"
                            ),
                        ),
                        (
                            "first_row",
                            models.CharField(
                                default="1", max_length=8, verbose_name="label of row 0"
                            ),
                        ),
                        (
                            "skip_i_and_o",
                            models.BooleanField(
                                default=False, verbose_name="skip the letters I and O"
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
                            "site",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="grids",
                                to="records.site",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["code"],
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
                                name="grid_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("site", "code"),
                                name="grid_code_once_in_site",
                                violation_error_message="Another grid of this site has this code.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("slope_deg__gt", -90), ("slope_deg__lte", 90)),
                                name="grid_slope_in_range",
                                violation_error_message="A slope lies above −90° and at most at 90°.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("side_m__gt", 0)), name="grid_side_positive"
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="HistoricalAccount",
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
                            "sign_in_name",
                            models.CharField(
                                db_index=True, max_length=80, verbose_name="sign-in name"
                            ),
                        ),
                        ("name", models.CharField(max_length=120, verbose_name="name")),
                        (
                            "is_active",
                            models.BooleanField(default=True, verbose_name="may sign in"),
                        ),
                        (
                            "is_administrator",
                            models.BooleanField(default=False, verbose_name="administrator"),
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
                    ],
                    options={
                        "verbose_name": "historical account",
                        "verbose_name_plural": "historical accounts",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalCylinder",
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
                            "size_l",
                            models.FloatField(
                                validators=[
                                    django.core.validators.MinValueValidator(0.1),
                                    django.core.validators.MaxValueValidator(100),
                                ],
                                verbose_name="size",
                            ),
                        ),
                        (
                            "bar_in",
                            models.PositiveSmallIntegerField(
                                validators=[django.core.validators.MaxValueValidator(400)],
                                verbose_name="pressure in",
                            ),
                        ),
                        (
                            "bar_out",
                            models.PositiveSmallIntegerField(
                                blank=True, null=True, verbose_name="pressure out"
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
                            "member",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.divemember",
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
                        "verbose_name": "historical cylinder",
                        "verbose_name_plural": "historical cylinders",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalDiveMember",
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
                                    ("diver", "diver"),
                                    ("leader", "dive leader"),
                                    ("standby", "standby diver"),
                                    ("tender", "tender"),
                                ],
                                default="diver",
                                max_length=8,
                                verbose_name="part in the dive",
                            ),
                        ),
                        (
                            "gas",
                            models.CharField(
                                blank=True,
                                choices=[
                                    ("air", "air"),
                                    ("nitrox", "nitrox"),
                                    ("trimix", "trimix"),
                                    ("oxygen", "oxygen"),
                                    ("other", "other mixture"),
                                ],
                                max_length=8,
                                verbose_name="breathing gas",
                            ),
                        ),
                        (
                            "oxygen_percent",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(100),
                                ],
                                verbose_name="oxygen in the mixture",
                            ),
                        ),
                        (
                            "apparatus",
                            models.CharField(
                                blank=True, max_length=80, verbose_name="breathing apparatus"
                            ),
                        ),
                        (
                            "left_surface_at",
                            models.DateTimeField(
                                blank=True, null=True, verbose_name="own time down"
                            ),
                        ),
                        (
                            "reached_surface_at",
                            models.DateTimeField(blank=True, null=True, verbose_name="own time up"),
                        ),
                        (
                            "greatest_depth_m",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[
                                    django.core.validators.MinValueValidator(0),
                                    django.core.validators.MaxValueValidator(350),
                                ],
                                verbose_name="own greatest depth",
                            ),
                        ),
                        (
                            "narrative",
                            models.TextField(
                                blank=True, verbose_name="what this diver did and saw"
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
                            "diver",
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
                        "verbose_name": "historical dive member",
                        "verbose_name_plural": "historical dive members",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalDiverPaper",
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
                            "kind",
                            models.CharField(
                                choices=[
                                    ("qualification", "diving qualification"),
                                    ("medical", "medical certificate"),
                                    ("first_aid", "first aid and oxygen"),
                                    ("insurance", "insurance"),
                                    ("other", "other paper"),
                                ],
                                max_length=16,
                                verbose_name="kind",
                            ),
                        ),
                        (
                            "reference",
                            models.CharField(blank=True, max_length=120, verbose_name="reference"),
                        ),
                        (
                            "issued_on",
                            models.DateField(blank=True, null=True, verbose_name="issued on"),
                        ),
                        (
                            "expires_on",
                            models.DateField(blank=True, null=True, verbose_name="valid until"),
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
                            "diver",
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
                        "verbose_name": "historical diver paper",
                        "verbose_name_plural": "historical diver papers",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalOneTimeLink",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("expires_at", models.DateTimeField()),
                        ("used_at", models.DateTimeField(null=True)),
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
                            "account",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
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
                        "verbose_name": "historical one time link",
                        "verbose_name_plural": "historical one time links",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSite",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("code", models.SlugField(max_length=20, verbose_name="site code")),
                        ("name", models.CharField(max_length=120, verbose_name="name of the site")),
                        (
                            "description",
                            models.TextField(blank=True, verbose_name="what lies here"),
                        ),
                        (
                            "object_names",
                            models.JSONField(
                                default=records.models.site.usual_object_names,
                                verbose_name="object names",
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
                    ],
                    options={
                        "verbose_name": "historical site",
                        "verbose_name_plural": "historical sites",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSquare",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("column", models.IntegerField(verbose_name="column")),
                        ("row", models.IntegerField(verbose_name="row")),
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
                    ],
                    options={
                        "verbose_name": "historical square",
                        "verbose_name_plural": "historical squares",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSupervisorShift",
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
                            models.CharField(max_length=120, verbose_name="diving supervisor"),
                        ),
                        ("from_time", models.TimeField(verbose_name="from")),
                        ("to_time", models.TimeField(blank=True, null=True, verbose_name="until")),
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
                            "day",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.divingday",
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
                        "verbose_name": "historical supervisor shift",
                        "verbose_name_plural": "historical supervisor shifts",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="NumberBlock",
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
                            "kind",
                            models.CharField(
                                choices=[
                                    ("dive", "dive"),
                                    ("photo", "photograph"),
                                    ("drawing", "drawing"),
                                    ("find", "find"),
                                ],
                                max_length=10,
                                verbose_name="numbers for",
                            ),
                        ),
                        ("first", models.PositiveIntegerField(verbose_name="first number")),
                        ("last", models.PositiveIntegerField(verbose_name="last number")),
                        ("given_to", models.CharField(max_length=120, verbose_name="given to")),
                        (
                            "purpose",
                            models.CharField(blank=True, max_length=200, verbose_name="what for"),
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
                            "season",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="number_blocks",
                                to="records.season",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["kind", "first"],
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
                                name="numberblock_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("first__gte", 1), ("last__gte", models.F("first"))
                                ),
                                name="numberblock_in_order",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="HistoricalNumberEnd",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("n", models.PositiveIntegerField(verbose_name="number")),
                        (
                            "end",
                            models.CharField(
                                choices=[
                                    ("used", "used"),
                                    ("returned", "returned unused"),
                                    ("void", "void"),
                                ],
                                max_length=8,
                                verbose_name="how it ended",
                            ),
                        ),
                        (
                            "reason",
                            models.CharField(blank=True, max_length=200, verbose_name="reason"),
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
                            "block",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.numberblock",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical number end",
                        "verbose_name_plural": "historical number ends",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="NumberEnd",
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
                        ("n", models.PositiveIntegerField(verbose_name="number")),
                        (
                            "end",
                            models.CharField(
                                choices=[
                                    ("used", "used"),
                                    ("returned", "returned unused"),
                                    ("void", "void"),
                                ],
                                max_length=8,
                                verbose_name="how it ended",
                            ),
                        ),
                        (
                            "reason",
                            models.CharField(blank=True, max_length=200, verbose_name="reason"),
                        ),
                        (
                            "block",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="ends",
                                to="records.numberblock",
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
                                name="numberend_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("block", "n"),
                                name="numberend_once",
                                violation_error_message="This number has already ended.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("end", "void"), ("reason", ""), _negated=True),
                                name="numberend_void_has_reason",
                                violation_error_message="A void number needs its reason.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="OneTimeLink",
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
                            "token_hash",
                            models.CharField(editable=False, max_length=64, unique=True),
                        ),
                        ("expires_at", models.DateTimeField()),
                        ("used_at", models.DateTimeField(null=True)),
                        (
                            "account",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="one_time_links",
                                to=settings.AUTH_USER_MODEL,
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
                                name="onetimelink_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Release",
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
                            "what",
                            models.CharField(
                                choices=[
                                    ("positions", "positions on the site (E, N)"),
                                    ("geographic", "the site's place on the Earth"),
                                    ("summary", "the season's summary page"),
                                ],
                                max_length=12,
                                verbose_name="what",
                            ),
                        ),
                        (
                            "audience",
                            models.CharField(
                                choices=[
                                    ("readers", "readers of this site"),
                                    ("public", "everybody"),
                                ],
                                max_length=8,
                                verbose_name="to whom",
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
                            "season",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="releases",
                                to="records.season",
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
                                name="release_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="NumberCounter",
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
                            "kind",
                            models.CharField(
                                choices=[
                                    ("dive", "dive"),
                                    ("photo", "photograph"),
                                    ("drawing", "drawing"),
                                    ("find", "find"),
                                ],
                                max_length=10,
                            ),
                        ),
                        ("last", models.PositiveIntegerField(default=0)),
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
                            "season",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="counters",
                                to="records.season",
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
                                name="numbercounter_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("season", "kind"), name="numbercounter_one_a_kind"
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="HistoricalStage",
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
                            "order",
                            models.PositiveSmallIntegerField(verbose_name="order in the season"),
                        ),
                        ("name", models.CharField(max_length=60, verbose_name="name of the stage")),
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
                    ],
                    options={
                        "verbose_name": "historical stage",
                        "verbose_name_plural": "historical stages",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSeasonEvent",
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
                            "kind",
                            models.CharField(
                                choices=[
                                    ("fieldwork_closed", "fieldwork closed"),
                                    ("deposited", "archive deposited"),
                                    ("reopened", "reopened"),
                                    ("addendum", "addendum"),
                                ],
                                max_length=20,
                                verbose_name="what",
                            ),
                        ),
                        ("reason", models.TextField(verbose_name="reason")),
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
                    ],
                    options={
                        "verbose_name": "historical season event",
                        "verbose_name_plural": "historical season events",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalRelease",
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
                            "what",
                            models.CharField(
                                choices=[
                                    ("positions", "positions on the site (E, N)"),
                                    ("geographic", "the site's place on the Earth"),
                                    ("summary", "the season's summary page"),
                                ],
                                max_length=12,
                                verbose_name="what",
                            ),
                        ),
                        (
                            "audience",
                            models.CharField(
                                choices=[
                                    ("readers", "readers of this site"),
                                    ("public", "everybody"),
                                ],
                                max_length=8,
                                verbose_name="to whom",
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
                    ],
                    options={
                        "verbose_name": "historical release",
                        "verbose_name_plural": "historical releases",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalNumberCounter",
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
                            "kind",
                            models.CharField(
                                choices=[
                                    ("dive", "dive"),
                                    ("photo", "photograph"),
                                    ("drawing", "drawing"),
                                    ("find", "find"),
                                ],
                                max_length=10,
                            ),
                        ),
                        ("last", models.PositiveIntegerField(default=0)),
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
                    ],
                    options={
                        "verbose_name": "historical number counter",
                        "verbose_name_plural": "historical number counters",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalNumberBlock",
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
                            "kind",
                            models.CharField(
                                choices=[
                                    ("dive", "dive"),
                                    ("photo", "photograph"),
                                    ("drawing", "drawing"),
                                    ("find", "find"),
                                ],
                                max_length=10,
                                verbose_name="numbers for",
                            ),
                        ),
                        ("first", models.PositiveIntegerField(verbose_name="first number")),
                        ("last", models.PositiveIntegerField(verbose_name="last number")),
                        ("given_to", models.CharField(max_length=120, verbose_name="given to")),
                        (
                            "purpose",
                            models.CharField(blank=True, max_length=200, verbose_name="what for"),
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
                    ],
                    options={
                        "verbose_name": "historical number block",
                        "verbose_name_plural": "historical number blocks",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalDivingDay",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("date", models.DateField(verbose_name="date")),
                        (
                            "vessel",
                            models.CharField(max_length=80, verbose_name="vessel or platform"),
                        ),
                        ("place", models.CharField(max_length=160, verbose_name="place of diving")),
                        (
                            "contractor",
                            models.CharField(max_length=120, verbose_name="diving contractor"),
                        ),
                        (
                            "plan_reference",
                            models.CharField(
                                blank=True, max_length=120, verbose_name="diving project plan"
                            ),
                        ),
                        (
                            "risk_assessment_reference",
                            models.CharField(
                                blank=True, max_length=120, verbose_name="risk assessment"
                            ),
                        ),
                        (
                            "schedule_used",
                            models.CharField(
                                blank=True,
                                max_length=160,
                                verbose_name="tables or computers used, as the supervisor told",
                            ),
                        ),
                        ("briefing", models.TextField(blank=True, verbose_name="briefing")),
                        (
                            "pre_dive_checks",
                            models.TextField(blank=True, verbose_name="pre-dive checks"),
                        ),
                        (
                            "weather",
                            models.CharField(blank=True, max_length=120, verbose_name="weather"),
                        ),
                        (
                            "sea_state",
                            models.CharField(blank=True, max_length=80, verbose_name="sea state"),
                        ),
                        (
                            "current",
                            models.CharField(blank=True, max_length=80, verbose_name="current"),
                        ),
                        (
                            "emergency_arrangements",
                            models.TextField(blank=True, verbose_name="emergency arrangements"),
                        ),
                        ("incidents", models.TextField(blank=True, verbose_name="incidents")),
                        (
                            "hours_lost",
                            models.FloatField(
                                default=0,
                                validators=[
                                    django.core.validators.MinValueValidator(0),
                                    django.core.validators.MaxValueValidator(24),
                                ],
                                verbose_name="hours lost",
                            ),
                        ),
                        (
                            "hours_lost_reason",
                            models.CharField(
                                blank=True, max_length=200, verbose_name="why they were lost"
                            ),
                        ),
                        ("diary", models.TextField(blank=True, verbose_name="diary")),
                        (
                            "answers",
                            models.JSONField(
                                blank=True, default=dict, verbose_name="unlikely values, confirmed"
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
                    ],
                    options={
                        "verbose_name": "historical diving day",
                        "verbose_name_plural": "historical diving days",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalDive",
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
                            "purpose",
                            models.CharField(
                                choices=[
                                    ("record", "recording squares"),
                                    ("photo_run", "photo run"),
                                    ("survey", "measuring and control"),
                                    ("clearing", "clearing and lifting"),
                                    ("rigging", "rigging grid and rails"),
                                    ("search", "search"),
                                    ("other", "other work"),
                                ],
                                default="record",
                                max_length=12,
                                verbose_name="purpose",
                            ),
                        ),
                        ("left_surface_at", models.DateTimeField(verbose_name="left the surface")),
                        (
                            "reached_surface_at",
                            models.DateTimeField(
                                blank=True,
                                help_text="Empty while under way.",
                                null=True,
                                verbose_name="reached the surface",
                            ),
                        ),
                        (
                            "greatest_depth_m",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[
                                    django.core.validators.MinValueValidator(0),
                                    django.core.validators.MaxValueValidator(350),
                                ],
                                verbose_name="greatest depth",
                            ),
                        ),
                        (
                            "bottom_minutes",
                            models.PositiveSmallIntegerField(
                                blank=True, null=True, verbose_name="bottom time"
                            ),
                        ),
                        (
                            "visibility_m",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[django.core.validators.MinValueValidator(0)],
                                verbose_name="visibility",
                            ),
                        ),
                        (
                            "water_temperature_c",
                            models.FloatField(
                                blank=True,
                                null=True,
                                validators=[
                                    django.core.validators.MinValueValidator(-3),
                                    django.core.validators.MaxValueValidator(45),
                                ],
                                verbose_name="water temperature",
                            ),
                        ),
                        ("remarks", models.TextField(blank=True, verbose_name="remarks")),
                        (
                            "answers",
                            models.JSONField(
                                blank=True, default=dict, verbose_name="unlikely values, confirmed"
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
                            "day",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.divingday",
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
                    ],
                    options={
                        "verbose_name": "historical dive",
                        "verbose_name_plural": "historical dives",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="SeasonEvent",
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
                            "kind",
                            models.CharField(
                                choices=[
                                    ("fieldwork_closed", "fieldwork closed"),
                                    ("deposited", "archive deposited"),
                                    ("reopened", "reopened"),
                                    ("addendum", "addendum"),
                                ],
                                max_length=20,
                                verbose_name="what",
                            ),
                        ),
                        ("reason", models.TextField(verbose_name="reason")),
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
                                related_name="events",
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
                                name="seasonevent_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("reason", ""), _negated=True),
                                name="seasonevent_has_reason",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Membership",
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
                                    ("reader", "reader"),
                                    ("crew", "crew"),
                                    ("lead", "recording lead"),
                                    ("director", "director"),
                                ],
                                max_length=10,
                                verbose_name="role",
                            ),
                        ),
                        ("initials", models.CharField(max_length=6, verbose_name="initials")),
                        ("pin_hash", models.CharField(blank=True, editable=False, max_length=200)),
                        (
                            "account",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="memberships",
                                to=settings.AUTH_USER_MODEL,
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
                            "site",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="memberships",
                                to="records.site",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["initials"],
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
                                name="membership_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(("voided_at", None)),
                                fields=("site", "initials"),
                                name="membership_initials_once_in_site",
                                violation_error_message="Somebody on this site already has these initials.",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(("voided_at", None)),
                                fields=("site", "account"),
                                name="membership_account_once_in_site",
                                violation_error_message="This person is already a member of the site.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="HistoricalTrustedTablet",
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
                            models.CharField(max_length=60, verbose_name="name of the tablet"),
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
                    ],
                    options={
                        "verbose_name": "historical trusted tablet",
                        "verbose_name_plural": "historical trusted tablets",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSiteAnchor",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("latitude_deg", models.FloatField(verbose_name="latitude")),
                        ("longitude_deg", models.FloatField(verbose_name="longitude")),
                        (
                            "site_north_deg",
                            models.FloatField(
                                default=0, verbose_name="site north, clockwise from true north"
                            ),
                        ),
                        (
                            "datum_note",
                            models.CharField(
                                blank=True,
                                max_length=200,
                                verbose_name="datum and how it was fixed",
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
                    ],
                    options={
                        "verbose_name": "historical site anchor",
                        "verbose_name_plural": "historical site anchors",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSeason",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("code", models.SlugField(max_length=20, verbose_name="season code")),
                        (
                            "name",
                            models.CharField(max_length=120, verbose_name="name of the season"),
                        ),
                        ("starts_on", models.DateField(verbose_name="first day")),
                        ("ends_on", models.DateField(verbose_name="last day")),
                        (
                            "zone",
                            models.CharField(
                                default="UTC",
                                max_length=60,
                                validators=[records.models.season.check_zone],
                                verbose_name="time zone",
                            ),
                        ),
                        (
                            "coverage_needed_fraction",
                            models.FloatField(
                                default=0.98,
                                verbose_name="share of a square that photographs must cover",
                            ),
                        ),
                        (
                            "disagreement_limit_mm",
                            models.FloatField(
                                default=30, verbose_name="drawing and photograph may differ by"
                            ),
                        ),
                        (
                            "tell_human_remains",
                            models.TextField(
                                blank=True,
                                help_text="Name, place in the team and telephone number.",
                                verbose_name="whom to tell of human remains",
                            ),
                        ),
                        (
                            "tell_ordnance",
                            models.TextField(
                                blank=True,
                                help_text="Name, place in the team and telephone number.",
                                verbose_name="whom to tell of suspected ordnance",
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
                    ],
                    options={
                        "verbose_name": "historical season",
                        "verbose_name_plural": "historical seasons",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalMembership",
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
                                    ("reader", "reader"),
                                    ("crew", "crew"),
                                    ("lead", "recording lead"),
                                    ("director", "director"),
                                ],
                                max_length=10,
                                verbose_name="role",
                            ),
                        ),
                        ("initials", models.CharField(max_length=6, verbose_name="initials")),
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
                            "account",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
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
                    ],
                    options={
                        "verbose_name": "historical membership",
                        "verbose_name_plural": "historical memberships",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalGrid",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("code", models.SlugField(max_length=12, verbose_name="short code")),
                        ("name", models.CharField(max_length=80, verbose_name="name of the grid")),
                        ("origin_e_m", models.FloatField(default=0, verbose_name="origin peg E")),
                        ("origin_n_m", models.FloatField(default=0, verbose_name="origin peg N")),
                        (
                            "origin_z_m",
                            models.FloatField(default=0, verbose_name="origin peg Z, up"),
                        ),
                        (
                            "bearing_deg",
                            models.FloatField(
                                default=0, verbose_name="bearing of the rows, from site north"
                            ),
                        ),
                        (
                            "slope_deg",
                            models.FloatField(
                                default=0,
                                help_text="0 lies flat (a plan), 90 stands upright (an elevation).",
                                verbose_name="slope",
                            ),
                        ),
                        (
                            "side_m",
                            models.FloatField(
                                default=1,
                                validators=[django.core.validators.MinValueValidator(0.1)],
                                verbose_name="side of a square",
                            ),
                        ),
                        (
                            "label_style",
                            models.CharField(
                                choices=[
                                    ("letters", "letters and number, like K7"),
                                    ("corner", "south-west corner in metres, like 104/212"),
                                ],
                                default="letters",
                                max_length=8,
                                verbose_name="labels",
                            ),
                        ),
                        (
                            "first_column",
                            models.CharField(
                                default="A", max_length=8, verbose_name="label of column 0"
                            ),
                        ),
                        (
                            "first_row",
                            models.CharField(
                                default="1", max_length=8, verbose_name="label of row 0"
                            ),
                        ),
                        (
                            "skip_i_and_o",
                            models.BooleanField(
                                default=False, verbose_name="skip the letters I and O"
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
                    ],
                    options={
                        "verbose_name": "historical grid",
                        "verbose_name_plural": "historical grids",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalDiver",
                    fields=[
                        ("id", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                        (
                            "made_at",
                            models.DateTimeField(default=django.utils.timezone.now, editable=False),
                        ),
                        ("version", models.PositiveIntegerField(default=1, editable=False)),
                        ("voided_at", models.DateTimeField(editable=False, null=True)),
                        ("void_reason", models.TextField(blank=True, editable=False)),
                        ("name", models.CharField(max_length=120, verbose_name="name")),
                        ("initials", models.CharField(max_length=6, verbose_name="initials")),
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
                            "account",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
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
                    ],
                    options={
                        "verbose_name": "historical diver",
                        "verbose_name_plural": "historical divers",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="SiteAnchor",
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
                        ("latitude_deg", models.FloatField(verbose_name="latitude")),
                        ("longitude_deg", models.FloatField(verbose_name="longitude")),
                        (
                            "site_north_deg",
                            models.FloatField(
                                default=0, verbose_name="site north, clockwise from true north"
                            ),
                        ),
                        (
                            "datum_note",
                            models.CharField(
                                blank=True,
                                max_length=200,
                                verbose_name="datum and how it was fixed",
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
                                related_name="anchors",
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
                                name="siteanchor_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(("voided_at", None)),
                                fields=("site",),
                                name="siteanchor_one_standing",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("latitude_deg__range", (-90, 90)),
                                    ("longitude_deg__range", (-180, 180)),
                                ),
                                name="siteanchor_on_the_earth",
                                violation_error_message="Latitude lies between −90 and 90, longitude between −180 and 180.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Square",
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
                        ("column", models.IntegerField(verbose_name="column")),
                        ("row", models.IntegerField(verbose_name="row")),
                        (
                            "grid",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="squares",
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
                        "ordering": ["column", "row"],
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
                                name="square_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("grid", "column", "row"), name="square_once_in_grid"
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Stage",
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
                            "order",
                            models.PositiveSmallIntegerField(verbose_name="order in the season"),
                        ),
                        ("name", models.CharField(max_length=60, verbose_name="name of the stage")),
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
                                related_name="stages",
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
                                name="stage_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("season", "order"), name="stage_order_once_in_season"
                            ),
                            models.UniqueConstraint(
                                fields=("season", "name"),
                                name="stage_name_once_in_season",
                                violation_error_message="The season already has a stage of this name.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="SquareGoal",
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
                            "drawing_wanted",
                            models.BooleanField(default=True, verbose_name="drawing wanted"),
                        ),
                        (
                            "photographs_wanted",
                            models.BooleanField(default=True, verbose_name="photographs wanted"),
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
                                related_name="goals",
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
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="goals",
                                to="records.stage",
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
                                name="squaregoal_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                fields=("stage", "square"), name="squaregoal_once_in_stage"
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="SquareException",
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
                            "method",
                            models.CharField(
                                choices=[("drawing", "drawing"), ("photographs", "photographs")],
                                max_length=12,
                                verbose_name="method",
                            ),
                        ),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("nothing_visible", "nothing visible"),
                                    ("not_reached", "could not be reached"),
                                    ("under_object", "under an object"),
                                ],
                                max_length=16,
                                verbose_name="why not",
                            ),
                        ),
                        ("reason", models.TextField(verbose_name="reason")),
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
                            "goal",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="exceptions",
                                to="records.squaregoal",
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
                                name="squareexception_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(("voided_at", None)),
                                fields=("goal", "method"),
                                name="squareexception_one_standing_a_method",
                                violation_error_message="This square already has an exception for this method.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("reason", ""), _negated=True),
                                name="squareexception_has_reason",
                                violation_error_message="An exception needs its reason in words.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="HistoricalSquareException",
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
                            "method",
                            models.CharField(
                                choices=[("drawing", "drawing"), ("photographs", "photographs")],
                                max_length=12,
                                verbose_name="method",
                            ),
                        ),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("nothing_visible", "nothing visible"),
                                    ("not_reached", "could not be reached"),
                                    ("under_object", "under an object"),
                                ],
                                max_length=16,
                                verbose_name="why not",
                            ),
                        ),
                        ("reason", models.TextField(verbose_name="reason")),
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
                            "goal",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="records.squaregoal",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical square exception",
                        "verbose_name_plural": "historical square exceptions",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSquareGoal",
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
                            "drawing_wanted",
                            models.BooleanField(default=True, verbose_name="drawing wanted"),
                        ),
                        (
                            "photographs_wanted",
                            models.BooleanField(default=True, verbose_name="photographs wanted"),
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
                    ],
                    options={
                        "verbose_name": "historical square goal",
                        "verbose_name_plural": "historical square goals",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalDiveTask",
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
                            "where_in_words",
                            models.CharField(
                                blank=True, max_length=160, verbose_name="where, in words"
                            ),
                        ),
                        (
                            "method",
                            models.CharField(
                                choices=[
                                    ("drawing", "drawing"),
                                    ("photographs", "photographs"),
                                    ("measuring", "measuring"),
                                    ("cleaning", "cleaning"),
                                    ("lifting", "lifting"),
                                    ("other", "other work"),
                                ],
                                max_length=12,
                                verbose_name="work",
                            ),
                        ),
                        (
                            "minutes",
                            models.PositiveSmallIntegerField(
                                blank=True, null=True, verbose_name="minutes"
                            ),
                        ),
                        (
                            "outcome",
                            models.CharField(
                                choices=[
                                    ("done", "done"),
                                    ("part", "part done"),
                                    ("nothing_visible", "nothing visible"),
                                    ("not_reached", "could not be reached"),
                                    ("not_started", "not started"),
                                ],
                                max_length=16,
                                verbose_name="outcome",
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
                    ],
                    options={
                        "verbose_name": "historical dive task",
                        "verbose_name_plural": "historical dive tasks",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="DiveTask",
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
                            "where_in_words",
                            models.CharField(
                                blank=True, max_length=160, verbose_name="where, in words"
                            ),
                        ),
                        (
                            "method",
                            models.CharField(
                                choices=[
                                    ("drawing", "drawing"),
                                    ("photographs", "photographs"),
                                    ("measuring", "measuring"),
                                    ("cleaning", "cleaning"),
                                    ("lifting", "lifting"),
                                    ("other", "other work"),
                                ],
                                max_length=12,
                                verbose_name="work",
                            ),
                        ),
                        (
                            "minutes",
                            models.PositiveSmallIntegerField(
                                blank=True, null=True, verbose_name="minutes"
                            ),
                        ),
                        (
                            "outcome",
                            models.CharField(
                                choices=[
                                    ("done", "done"),
                                    ("part", "part done"),
                                    ("nothing_visible", "nothing visible"),
                                    ("not_reached", "could not be reached"),
                                    ("not_started", "not started"),
                                ],
                                max_length=16,
                                verbose_name="outcome",
                            ),
                        ),
                        (
                            "dive",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="tasks",
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
                            "square",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="tasks",
                                to="records.square",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="tasks",
                                to="records.stage",
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
                                name="divetask_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("square__isnull", False),
                                        ("stage__isnull", False),
                                        ("where_in_words", ""),
                                    ),
                                    models.Q(
                                        ("square", None),
                                        ("stage", None),
                                        models.Q(("where_in_words", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="divetask_on_a_square_or_in_words",
                                violation_error_message="A task names a square and its stage, or says in words where it was.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="SupervisorShift",
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
                            models.CharField(max_length=120, verbose_name="diving supervisor"),
                        ),
                        ("from_time", models.TimeField(verbose_name="from")),
                        ("to_time", models.TimeField(blank=True, null=True, verbose_name="until")),
                        (
                            "day",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="supervisors",
                                to="records.divingday",
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
                        "ordering": ["from_time"],
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
                                name="supervisorshift_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("to_time", None),
                                    ("to_time__gt", models.F("from_time")),
                                    _connector="OR",
                                ),
                                name="supervisorshift_ends_after_start",
                                violation_error_message="A supervisor's hours cannot end before they begin.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="TrustedTablet",
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
                            models.CharField(max_length=60, verbose_name="name of the tablet"),
                        ),
                        (
                            "token_hash",
                            models.CharField(editable=False, max_length=64, unique=True),
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
                                related_name="tablets",
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
                                name="trustedtablet_void_says_when_who_why",
                                violation_error_message="A voided record says when, by whom and why.",
                            )
                        ],
                    },
                ),
            ]
        )
    ]
