"""Requests made up from the OpenAPI document, valid and not: every answer is one that the document describes."""

import os
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import positive_data_acceptance

from api.explain import example_shop
from tests.api.serving import Server, serving


@schemathesis.serializer("application/toml")
def as_text(context: schemathesis.SerializationContext, value: Any) -> bytes:
    """Send whatever was made up as text."""
    return value if isinstance(value, bytes) else str(value).encode("utf-8", "replace")


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Serve with a token, a shop and some jobs that are there already."""
    for server in serving(tmp_path_factory.mktemp("contract")):
        token = server.service.registry.make_token("contract", "admin")
        server.client.headers["Authorization"] = f"Bearer {token}"
        server.client.put("/api/settings/shop/ours", content=example_shop().encode())
        for number in range(3):
            server.ended(server.send(f"fine {number}").json()["jobs"][0]["id"])
        yield server


EXAMPLES = int(os.environ.get("PARTSIEVE_CONTRACT_EXAMPLES", "6"))
"""Made-up requests for each operation, right ones and as many wrong ones; more find more and take longer."""


def test_every_answer_is_described(server: Server) -> None:
    """No server error, no status, media type or body that the document does not have, no way in without a token.

    The stream of events has no end and is tested elsewhere.
    """
    document = schemathesis.openapi.from_url(f"{server.url}/api/openapi.json").exclude(path="/api/events")
    tried = 0
    for found in document.get_all_operations():
        operation: Any = found
        operation = operation.ok()
        for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):
            tried += _tried(operation, mode, server)
    assert tried > 20 * EXAMPLES


def _tried(operation: Any, mode: GenerationMode, server: Server) -> int:
    """Try one operation with made-up requests; return how many there were."""
    tried: list[None] = []
    try:
        strategy = operation.as_strategy(generation_mode=mode)
    except Unsatisfiable:
        return 0

    @given(case=strategy)
    @settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck), database=None)
    def attempt(case: Any) -> None:
        tried.append(None)
        case.call_and_validate(
            headers={"Authorization": server.client.headers["Authorization"]},
            # a name that is well formed but not kept here is refused, which no document can say beforehand
            excluded_checks=[positive_data_acceptance],
        )

    try:
        attempt()
    except Unsatisfiable:  # nothing can be wrong about a request without parameters
        return 0
    return len(tried)
