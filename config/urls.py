"""Every address of the product."""

from __future__ import annotations

from django.contrib import admin
from django.urls import include, path
from django.views.generic import RedirectView
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerView
from rest_framework.routers import SimpleRouter

from audits.api.catch_tests import CatchTestViewSet
from audits.api.findings import FindingViewSet, RepairTicketViewSet
from audits.api.program_settings import ProgramSettingViewSet
from audits.api.visits import VisitViewSet
from config.health import healthz, readyz
from properties.api.places import ControllerViewSet, CustomerViewSet, PropertyViewSet
from properties.api.records import CompanyView, EventViewSet, JobViewSet
from properties.api.staff import SignInView, SignOutView, StaffViewSet
from properties.api.zones import HeadGroupViewSet, ZoneViewSet
from reports.api.documents import DocumentViewSet, MakeAuditSummaryView
from scheduling.api.plans import (
    PropertySeasonView,
    StorePlansView,
    WateringPlanViewSet,
    ZonePlanView,
    ZoneSeasonView,
)
from scheduling.api.weather import WeatherDayViewSet, WeatherStationViewSet

router = SimpleRouter(trailing_slash=False)
router.register("staff", StaffViewSet)
router.register("customers", CustomerViewSet)
router.register("properties", PropertyViewSet)
router.register("controllers", ControllerViewSet)
router.register("zones", ZoneViewSet)
router.register("head-groups", HeadGroupViewSet)
router.register("visits", VisitViewSet)
router.register("catch-tests", CatchTestViewSet)
router.register("program-settings", ProgramSettingViewSet)
router.register("findings", FindingViewSet)
router.register("repair-tickets", RepairTicketViewSet)
router.register("weather-stations", WeatherStationViewSet)
router.register("weather-days", WeatherDayViewSet)
router.register("watering-plans", WateringPlanViewSet)
router.register("documents", DocumentViewSet)
router.register("events", EventViewSet)
router.register("jobs", JobViewSet)

api_v1 = [
    path("sign-in", SignInView.as_view(), name="sign-in"),
    path("sign-out", SignOutView.as_view(), name="sign-out"),
    path("company", CompanyView.as_view(), name="company"),
    path("zones/<uuid:pk>/plan", ZonePlanView.as_view(), name="zone-plan"),
    path("zones/<uuid:pk>/season", ZoneSeasonView.as_view(), name="zone-season"),
    path("properties/<uuid:pk>/season", PropertySeasonView.as_view(), name="property-season"),
    path("properties/<uuid:pk>/plans", StorePlansView.as_view(), name="store-plans"),
    path("visits/<uuid:pk>/audit-summary", MakeAuditSummaryView.as_view(), name="audit-summary"),
    path("openapi.yaml", SpectacularAPIView.as_view(), name="schema"),
    path("docs", SpectacularSwaggerView.as_view(url_name="schema"), name="docs"),
    *router.urls,
]

urlpatterns = [
    path("", RedirectView.as_view(pattern_name="admin:index")),
    path("healthz", healthz),
    path("readyz", readyz),
    path("admin/", admin.site.urls),
    path("api/v1/", include(api_v1)),
]

handler404 = "config.exception_handler.not_found"
handler500 = "config.exception_handler.server_error"
