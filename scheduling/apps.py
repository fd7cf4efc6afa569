"""Wiring of this app at start-up."""

from __future__ import annotations

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    name = "scheduling"

    def ready(self) -> None:
        from audits.signals import ruling_test_changed, visit_finished
        from properties.services.jobs import register_handler
        from scheduling.receivers import ask_for_plans
        from scheduling.services import (
            calibrations,
            controller_programs,
            forecasts,
            job_kinds,
            plans,
            replays,
            weather_files,
        )

        visit_finished.connect(ask_for_plans, dispatch_uid="plans after visit")
        ruling_test_changed.connect(ask_for_plans, dispatch_uid="plans after late test")
        register_handler(job_kinds.PLANS_AFTER_VISIT, plans.store_plans_after_visit)
        register_handler(job_kinds.PLANS_OF_PROPERTY, plans.store_plans_of_property)
        register_handler(job_kinds.CALIBRATE_STATION, calibrations.calibrate_station_by_id)
        register_handler(job_kinds.REFIT_STATION, calibrations.refit_station_by_id)
        register_handler(
            job_kinds.FORECAST, forecasts.store_download_of, gather=forecasts.download_of
        )
        register_handler(
            job_kinds.FIT_PROGRAMS,
            controller_programs.store_fit,
            gather=controller_programs.fit_controller,
        )
        register_handler(job_kinds.WEATHER_FILE, weather_files.read_weather_file)
        register_handler(job_kinds.REPLAY, replays.store_answer, gather=replays.gather_answer)
