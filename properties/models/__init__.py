from properties.models.company import Company
from properties.models.customers import Customer, Relation
from properties.models.events import Event
from properties.models.jobs import Heartbeat, Job, JobState
from properties.models.places import Controller, Property, RainSensor, WaterSource
from properties.models.rows import MeasuredRow, Row
from properties.models.staff import AccessToken, Licence, Role, StaffMember
from properties.models.water_budgets import WaterBudget
from properties.models.watering_rules import (
    DroughtStage,
    StagePeriod,
    WateringDistrict,
    WateringRule,
)
from properties.models.zones import HeadGroup, Zone

__all__ = [
    "AccessToken",
    "Company",
    "Controller",
    "Customer",
    "DroughtStage",
    "Event",
    "HeadGroup",
    "Heartbeat",
    "Job",
    "JobState",
    "Licence",
    "MeasuredRow",
    "Property",
    "RainSensor",
    "Relation",
    "Role",
    "Row",
    "StaffMember",
    "StagePeriod",
    "WaterBudget",
    "WaterSource",
    "WateringDistrict",
    "WateringRule",
    "Zone",
]
