"""Every address of the product."""

from __future__ import annotations

from django.contrib import admin
from django.urls import include, path
from django.views.generic import RedirectView
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.routers import SimpleRouter

from audits.api.bucket_tests import BucketTestViewSet
from audits.api.catch_tests import CatchTestViewSet
from audits.api.checklists import VisitChecklistView
from audits.api.diagnosis import ZoneDiagnosisView
from audits.api.digging import DiggingWindowView
from audits.api.emitter_checks import EmitterCheckViewSet
from audits.api.findings import FindingViewSet
from audits.api.flow_checks import FlowCheckViewSet
from audits.api.hose_positions import HosePositionsView
from audits.api.lateral_checks import LateralChecksView
from audits.api.meter_readings import MeterReadingViewSet
from audits.api.more_heads import MoreHeadsView
from audits.api.office_questions import AuditAgeViewSet, UntestedZoneViewSet
from audits.api.photos import PhotoViewSet
from audits.api.placement import ZonePlacementView
from audits.api.prices import PriceItemViewSet
from audits.api.program_settings import ProgramSettingViewSet
from audits.api.symptoms import SymptomViewSet
from audits.api.test_history import TestHistoryView
from audits.api.tickets import RepairTicketViewSet, TicketLineViewSet
from audits.api.treatments import TreatmentEffectView, TreatmentViewSet
from audits.api.visits import VisitViewSet
from audits.api.zone_water import FoundWaterView
from config.health import healthz, readyz
from config.problem_pages import problem_list, problem_page
from properties.admin.sign_in import SecondFactorPage
from properties.api.allowed_times import PropertyAllowedTimesView, ZoneAllowedTimesView
from properties.api.exports import (
    ExportControllersView,
    ExportCustomersView,
    ExportPropertiesView,
    ExportZonesView,
)
from properties.api.imports import ImportViewSet
from properties.api.licences import LicenceViewSet
from properties.api.places import ControllerViewSet, CustomerViewSet, PropertyViewSet
from properties.api.records import CompanyView, EventViewSet, JobViewSet
from properties.api.refused_addresses import ClearRefusedAddressView
from properties.api.sign_in import (
    ConfirmSecondFactorView,
    RecoveryCodesView,
    SecondFactorView,
    SessionView,
    SignInView,
    SignOutView,
)
from properties.api.staff import StaffViewSet
from properties.api.stage_periods import StagePeriodViewSet
from properties.api.tokens import TokenViewSet
from properties.api.water_budgets import WaterBudgetViewSet
from properties.api.watering_rules import (
    DroughtStageViewSet,
    WateringDistrictViewSet,
    WateringRuleViewSet,
)
from properties.api.zones import HeadGroupViewSet, ZoneViewSet
from reports.api.documents import DocumentViewSet, MakeAuditSummaryView
from reports.api.notice_previews import NoticePreviewView
from reports.api.stop_notices import StopNoticesView
from reports.api.weather_pictures import WaterPictureView, WeatherPictureView
from scheduling.api.calibrations import StationCalibrationView
from scheduling.api.controller_programs import (
    ControllerProgramViewSet,
    FitProgramsView,
    FitPropertyView,
)
from scheduling.api.forecasts import FetchForecastView, StationForecastView
from scheduling.api.needs import DiagnosisWithNeedView, FoundWaterWithNeedView
from scheduling.api.notices import (
    NightRunViewSet,
    NoticeViewSet,
    OperationView,
    PauseNoticesView,
    ResumeNoticesView,
)
from scheduling.api.observations import FetchObservationsView, StationObservationsView
from scheduling.api.office_questions import UnplannedPropertyViewSet, WeatherAgeViewSet
from scheduling.api.plans import (
    PropertySeasonView,
    StorePlansView,
    WateringPlanViewSet,
    ZonePlanView,
    ZoneSeasonView,
)
from scheduling.api.property_weather import PropertyWeatherView
from scheduling.api.reminders import ReminderRuleViewSet, ReminderViewSet
from scheduling.api.replays import AskReplayView, ReplayViewSet
from scheduling.api.running_plans import PropertyRunningPlanView, ZoneRunningPlanView
from scheduling.api.savings import SavingView
from scheduling.api.symptoms import SymptomWithRecordView
from scheduling.api.water_accounts import WaterAccountView
from scheduling.api.water_budgets import PropertyWaterBudgetView
from scheduling.api.weather import WeatherDayViewSet, WeatherStationViewSet
from scheduling.api.weather_files import WeatherFileViewSet

router = SimpleRouter(trailing_slash=False)
router.register("staff", StaffViewSet)
router.register("tokens", TokenViewSet)
router.register("licences", LicenceViewSet)
router.register("customers", CustomerViewSet)
router.register("properties", PropertyViewSet)
router.register("controllers", ControllerViewSet)
router.register("zones", ZoneViewSet)
router.register("head-groups", HeadGroupViewSet)
router.register("watering-districts", WateringDistrictViewSet)
router.register("drought-stages", DroughtStageViewSet)
router.register("stage-periods", StagePeriodViewSet)
router.register("watering-rules", WateringRuleViewSet)
router.register("water-budgets", WaterBudgetViewSet)
router.register("visits", VisitViewSet)
router.register("catch-tests", CatchTestViewSet)
router.register("program-settings", ProgramSettingViewSet)
router.register("findings", FindingViewSet)
router.register("repair-tickets", RepairTicketViewSet)
router.register("ticket-lines", TicketLineViewSet)
router.register("price-items", PriceItemViewSet)
router.register("flow-checks", FlowCheckViewSet)
router.register("bucket-tests", BucketTestViewSet)
router.register("emitter-checks", EmitterCheckViewSet)
router.register("meter-readings", MeterReadingViewSet)
router.register("symptoms", SymptomViewSet)
router.register("treatments", TreatmentViewSet)
router.register("photos", PhotoViewSet)
router.register("weather-stations", WeatherStationViewSet)
router.register("weather-days", WeatherDayViewSet)
router.register("weather-files", WeatherFileViewSet)
router.register("watering-plans", WateringPlanViewSet)
router.register("controller-programs", ControllerProgramViewSet)
router.register("replays", ReplayViewSet)
router.register("reminders", ReminderViewSet)
router.register("reminder-rules", ReminderRuleViewSet)
router.register("notices", NoticeViewSet)
router.register("night-runs", NightRunViewSet)
router.register("documents", DocumentViewSet)
router.register("audit-ages", AuditAgeViewSet, basename="audit-age")
router.register("untested-zones", UntestedZoneViewSet, basename="untested-zone")
router.register("unplanned-properties", UnplannedPropertyViewSet, basename="unplanned-property")
router.register("weather-ages", WeatherAgeViewSet, basename="weather-age")
router.register("imports", ImportViewSet)
router.register("events", EventViewSet)
router.register("jobs", JobViewSet)

api_v1 = [
    path("sign-in", SignInView.as_view(), name="sign-in"),
    path("sign-out", SignOutView.as_view(), name="sign-out"),
    path("session", SessionView.as_view(), name="session"),
    path("second-factor", SecondFactorView.as_view(), name="second-factor"),
    path("second-factor/confirm", ConfirmSecondFactorView.as_view(), name="confirm-second-factor"),
    path("recovery-codes", RecoveryCodesView.as_view(), name="recovery-codes"),
    path("company", CompanyView.as_view(), name="company"),
    path("zones/<uuid:pk>/plan", ZonePlanView.as_view(), name="zone-plan"),
    path("zones/<uuid:pk>/season", ZoneSeasonView.as_view(), name="zone-season"),
    path("zones/<uuid:pk>/running-plan", ZoneRunningPlanView.as_view(), name="zone-running-plan"),
    path(
        "properties/<uuid:pk>/running-plan",
        PropertyRunningPlanView.as_view(),
        name="property-running-plan",
    ),
    path("zones/<uuid:pk>/test-history", TestHistoryView.as_view(), name="test-history"),
    path("zones/<uuid:pk>/diagnosis", ZoneDiagnosisView.as_view(), name="zone-diagnosis"),
    path(
        "zones/<uuid:pk>/diagnosis-with-need",
        DiagnosisWithNeedView.as_view(),
        name="zone-diagnosis-with-need",
    ),
    path("zones/<uuid:pk>/found-water", FoundWaterView.as_view(), name="found-water"),
    path(
        "zones/<uuid:pk>/found-water-with-need",
        FoundWaterWithNeedView.as_view(),
        name="found-water-with-need",
    ),
    path("zones/<uuid:pk>/hose-positions", HosePositionsView.as_view(), name="hose-positions"),
    path(
        "symptoms/<uuid:pk>/with-record",
        SymptomWithRecordView.as_view(),
        name="symptom-with-record",
    ),
    path("zones/<uuid:pk>/water-account", WaterAccountView.as_view(), name="water-account"),
    path("zones/<uuid:pk>/water-picture", WaterPictureView.as_view(), name="water-picture"),
    path("zones/<uuid:pk>/more-heads", MoreHeadsView.as_view(), name="more-heads"),
    path("zones/<uuid:pk>/placement", ZonePlacementView.as_view(), name="zone-placement"),
    path(
        "zones/<uuid:pk>/allowed-times", ZoneAllowedTimesView.as_view(), name="zone-allowed-times"
    ),
    path(
        "properties/<uuid:pk>/allowed-times",
        PropertyAllowedTimesView.as_view(),
        name="property-allowed-times",
    ),
    path("digging-window", DiggingWindowView.as_view(), name="digging-window"),
    path("lateral-checks", LateralChecksView.as_view(), name="lateral-checks"),
    path("controllers/<uuid:pk>/fit-programs", FitProgramsView.as_view(), name="fit-programs"),
    path("properties/<uuid:pk>/fit-programs", FitPropertyView.as_view(), name="fit-property"),
    path("properties/<uuid:pk>/season", PropertySeasonView.as_view(), name="property-season"),
    path(
        "properties/<uuid:pk>/water-budget",
        PropertyWaterBudgetView.as_view(),
        name="property-water-budget",
    ),
    path("properties/<uuid:pk>/weather", PropertyWeatherView.as_view(), name="property-weather"),
    path(
        "properties/<uuid:pk>/weather-picture", WeatherPictureView.as_view(), name="weather-picture"
    ),
    path(
        "weather-stations/<uuid:pk>/calibration",
        StationCalibrationView.as_view(),
        name="station-calibration",
    ),
    path(
        "weather-stations/<uuid:pk>/forecast",
        StationForecastView.as_view(),
        name="station-forecast",
    ),
    path(
        "weather-stations/<uuid:pk>/fetch-forecast",
        FetchForecastView.as_view(),
        name="fetch-forecast",
    ),
    path(
        "weather-stations/<uuid:pk>/observations",
        StationObservationsView.as_view(),
        name="station-observations",
    ),
    path(
        "weather-stations/<uuid:pk>/fetch-observations",
        FetchObservationsView.as_view(),
        name="fetch-observations",
    ),
    path("properties/<uuid:pk>/replays", AskReplayView.as_view(), name="ask-replay"),
    path("properties/<uuid:pk>/savings", SavingView.as_view(), name="property-savings"),
    path("properties/<uuid:pk>/notice-preview", NoticePreviewView.as_view(), name="notice-preview"),
    path(
        "customers/<uuid:pk>/clear-refused-address",
        ClearRefusedAddressView.as_view(),
        name="clear-refused-address",
    ),
    path("pause-notices", PauseNoticesView.as_view(), name="pause-notices"),
    path("resume-notices", ResumeNoticesView.as_view(), name="resume-notices"),
    path("properties/<uuid:pk>/plans", StorePlansView.as_view(), name="store-plans"),
    path("visits/<uuid:pk>/audit-summary", MakeAuditSummaryView.as_view(), name="audit-summary"),
    path("visits/<uuid:pk>/checklist", VisitChecklistView.as_view(), name="visit-checklist"),
    path(
        "zones/<uuid:pk>/treatment-effect", TreatmentEffectView.as_view(), name="treatment-effect"
    ),
    path("exports/customers.csv", ExportCustomersView.as_view(), name="export-customers"),
    path("exports/properties.csv", ExportPropertiesView.as_view(), name="export-properties"),
    path("exports/controllers.csv", ExportControllersView.as_view(), name="export-controllers"),
    path("exports/zones.csv", ExportZonesView.as_view(), name="export-zones"),
    path("openapi.yaml", SpectacularAPIView.as_view(metadata_class=None), name="schema"),
    path(
        "docs",
        SpectacularSwaggerSplitView.as_view(url_name="schema", metadata_class=None),
        name="docs",
    ),
    *router.urls,
]

urlpatterns = [
    path("", RedirectView.as_view(pattern_name="admin:index")),
    path("healthz", healthz),
    path("readyz", readyz),
    path("statusz", OperationView.as_view(), name="statusz"),
    path("admin/", admin.site.urls),
    path("second-factor", SecondFactorPage.as_view(), name="second-factor-page"),
    path("problems", problem_list, name="problems"),
    path("problems/<slug:kind>", problem_page, name="problem"),
    path("api/v1/", include(api_v1)),
    path("notices/stop/<uuid:link_id>/<str:code>", StopNoticesView.as_view(), name="stop-notices"),
]

handler404 = "config.exception_handler.not_found"
handler500 = "config.exception_handler.server_error"
