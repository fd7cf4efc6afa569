from properties.models.company import Company
from properties.models.customers import Customer, ErasureReason, Relation
from properties.models.events import Event
from properties.models.head_groups import HeadGroup
from properties.models.idempotency import IdempotencyKey
from properties.models.imports import Import, ImportLine, ImportState
from properties.models.jobs import Heartbeat, Job, JobState
from properties.models.places import Controller, Property, RainSensor, WaterSource
from properties.models.rows import MeasuredRow, Retirable, Row
from properties.models.sign_in import CountedBy, RecoveryCode, SignInCount
from properties.models.staff import AccessToken, Licence, Role, StaffMember, TokenKind
from properties.models.water_budgets import WaterBudget
from properties.models.watering_rules import (
    DroughtStage,
    StagePeriod,
    WateringDistrict,
    WateringRule,
)
from properties.models.zones import Zone

__all__ = [
    "AccessToken",
    "Company",
    "Controller",
    "CountedBy",
    "Customer",
    "DroughtStage",
    "ErasureReason",
    "Event",
    "HeadGroup",
    "Heartbeat",
    "IdempotencyKey",
    "Import",
    "ImportLine",
    "ImportState",
    "Job",
    "JobState",
    "Licence",
    "MeasuredRow",
    "Property",
    "RainSensor",
    "RecoveryCode",
    "Relation",
    "Retirable",
    "Role",
    "Row",
    "SignInCount",
    "StaffMember",
    "StagePeriod",
    "TokenKind",
    "WaterBudget",
    "WaterSource",
    "WateringDistrict",
    "WateringRule",
    "Zone",
]
