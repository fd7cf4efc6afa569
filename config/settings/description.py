"""How the API describes itself: settings of the OpenAPI document."""

from __future__ import annotations

SPECTACULAR_SETTINGS = {
    "TITLE": "Sprinkler audit and watering API",
    "DESCRIPTION": (
        "Properties, zones, catch tests, faults and watering plans of one lawn and plant-health"
        " company. Physical quantities are sent and returned as `{value, unit}`; errors are RFC"
        " 9457 problem details with JSON pointers to the fields at fault."
    ),
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.AllowAny"],
    "SERVE_AUTHENTICATION": [],
    "SCHEMA_PATH_PREFIX": r"/api/v1/",
    "COMPONENT_SPLIT_REQUEST": True,
    "SORT_OPERATION_PARAMETERS": False,
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "properties.http.schema_examples.describe_examples",
    ],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "ENUM_NAME_OVERRIDES": {
        "HeadKind": "properties.models.zones.HEAD_KINDS",
        "VisitKind": "audits.models.visits.VISIT_KINDS",
        "DocumentKind": "reports.models.documents.DocumentKind",
        "ReminderAudience": "scheduling.models.reminders.AUDIENCES",
        "ReminderKind": "scheduling.models.reminders.REMINDER_KINDS",
        "ReminderState": "scheduling.models.reminders.ReminderState",
        "NightState": "scheduling.models.nights.NightState",
        "NoticeState": "scheduling.models.notices.NoticeState",
        "ImportKind": "properties.models.imports.IMPORT_KINDS",
        "ReplayState": "scheduling.selectors.replays.REPLAY_STATES",
        "StationFileLayout": "scheduling.models.weather_files.LAYOUTS",
        "TokenKind": "properties.models.staff.TokenKind",
        "StationFileUnits": "scheduling.models.weather_files.UNITS",
        "Supply": "scheduling.api.symptoms.SUPPLIES",
        "UnitSystem": "properties.models.company.UNIT_SYSTEMS",
    },
}
