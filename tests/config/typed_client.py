"""A morning in the office with the typed client that is made from the API's description.

Run and checked for types by `test_typed_client`; the client itself is made there and kept nowhere.
"""

from __future__ import annotations

from typing import TypeVar
from urllib.parse import parse_qs, urlsplit
from uuid import UUID

from garden_client import AuthenticatedClient, Client
from garden_client.api.controllers import controllers_create
from garden_client.api.customers import customers_create, customers_list
from garden_client.api.properties import properties_create
from garden_client.api.sign_in import sign_in_create
from garden_client.api.zones import zones_partial_update, zones_retrieve, zones_update
from garden_client.models.controller_request import ControllerRequest
from garden_client.models.customer_request import CustomerRequest
from garden_client.models.exposure_enum import ExposureEnum
from garden_client.models.head_kind import HeadKind
from garden_client.models.issued_token import IssuedToken
from garden_client.models.paginated_customer_list import PaginatedCustomerList
from garden_client.models.patched_zone_request import PatchedZoneRequest
from garden_client.models.plant_type_enum import PlantTypeEnum
from garden_client.models.problem import Problem
from garden_client.models.property_request import PropertyRequest
from garden_client.models.sign_in_request import SignInRequest
from garden_client.models.soil_texture_enum import SoilTextureEnum
from garden_client.models.zone import Zone
from garden_client.models.zone_request import ZoneRequest
from garden_client.types import Response

T = TypeVar("T")


def told(answer: Problem | T | None) -> T:
    """Return what was answered, unless it is a problem."""
    assert answer is not None
    assert not isinstance(answer, Problem), answer
    return answer


def signed_in(address: str, email: str, password: str, code: str) -> AuthenticatedClient:
    credentials = SignInRequest(email=email, password=password, code=code)
    with Client(base_url=address) as door:
        issued: IssuedToken = told(sign_in_create.sync(client=door, body=credentials))
    return AuthenticatedClient(base_url=address, token=issued.token)


def make_garden(client: AuthenticatedClient, zone_id: UUID) -> Zone:
    """Make client, property and controller, and a zone under an id of our own, twice."""
    ingrid = CustomerRequest(name="Ingrid Holm")
    customer = told(customers_create.sync(client=client, body=ingrid))
    place = PropertyRequest(
        customer=customer.id, name="Holm garden", street="48 Kiln Street", city="Tallgrass"
    )
    garden = told(properties_create.sync(client=client, body=place))
    clock = ControllerRequest(property_=garden.id, name="Garage")
    controller = told(controllers_create.sync(client=client, body=clock))
    lawn = ZoneRequest(
        property_=garden.id, controller=controller.id, number=1, name="Front lawn",
        head_kind=HeadKind.SPRAY, plant_type=PlantTypeEnum.COOL_TURF,
        soil_texture=SoilTextureEnum.LOAM, exposure=ExposureEnum.FULL_SUN,
    )  # fmt: skip
    first = zones_update.sync_detailed(zone_id, client=client, body=lawn)
    again = zones_update.sync_detailed(zone_id, client=client, body=lawn)
    assert (first.status_code, again.status_code) == (201, 200), first.content
    return told(first.parsed)


def change_name(
    client: AuthenticatedClient, zone: Zone, name: str, etag: str
) -> Response[Problem | Zone]:
    change = PatchedZoneRequest(name=name)
    return zones_partial_update.sync_detailed(zone.id, client=client, body=change, if_match=etag)


def etag_of(client: AuthenticatedClient, zone: Zone) -> str:
    answer = zones_retrieve.sync_detailed(zone.id, client=client)
    return str(answer.headers["ETag"])


def pages(client: AuthenticatedClient) -> list[list[str]]:
    """Return the names of the clients, page by page."""
    found: list[list[str]] = []
    cursor: str | None = None
    while True:
        page: PaginatedCustomerList = told(
            customers_list.sync(client=client, limit=2, cursor=cursor)
            if cursor
            else customers_list.sync(client=client, limit=2)
        )
        found.append([customer.name for customer in page.results])
        if page.next_ is None:
            return found
        cursor = cursor_of(page.next_)


def cursor_of(address: str) -> str:
    """Return the cursor out of the address of a page."""
    return parse_qs(urlsplit(address).query)["cursor"][0]
