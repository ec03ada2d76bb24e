"""The interface against its own description: no mistake of the server, and no answer that is not described."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import requests
import schemathesis
from hypothesis import HealthCheck, Phase, given, seed
from hypothesis import settings as tries
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from tests.support.web import HOST, RECORD, Lab, is_error, lines, photo, running, settings
from tests.support.web_table import ROWS

from unfasten.web.who import TOKEN_HEADER

EXAMPLES = 20
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
]
#: the stream has no end, and is listened to elsewhere; the description cannot describe itself
DESCRIBED = sorted(name for name in ROWS if " /api/" in name and not ROWS[name].is_stream and "openapi" not in name)
#: what the record of the test holds
HELD = {"record": RECORD, "part": "back-cover", "photo": "p-001"}
#: nothing is sent that could be wrong
WITHOUT_INPUT = ("GET /api/records", "POST /api/sign-out")


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """A server of this machine only, with a record that holds something of everything."""
    with running(settings(tmp_path_factory.mktemp("fuzz"), lab=False)) as made:
        made.people["bench"] = ("", made.token_of("/"))
        said = ["part back-cover", "2 hex-3 holds back-cover frame edge", "lift back-cover", "note x"]
        made.ask("POST", f"/api/records/{RECORD}/lines", "bench", json=lines(*said))
        made.ask("POST", f"/api/records/{RECORD}/photos", "bench", files=photo())
        yield made


@pytest.fixture(scope="module")
def schema(lab: Lab) -> Any:
    """The description, read as schemathesis does."""
    return schemathesis.openapi.from_dict(lab.ask("GET", "/api/openapi.json").json())


def test_every_operation_of_the_interface_is_described(lab: Lab) -> None:
    described = lab.ask("GET", "/api/openapi.json").json()["paths"]
    named = {f"{method.upper()} {path}" for path, methods in described.items() for method in methods}
    assert named == {name for name in ROWS if " /api/" in name and "openapi" not in name}


def test_every_refusal_is_described_in_the_one_shape(lab: Lab) -> None:
    described = lab.ask("GET", "/api/openapi.json").json()
    for path, methods in described["paths"].items():
        for method, operation in methods.items():
            refused = {status: one for status, one in operation["responses"].items() if int(status) >= 400}
            assert {"401", "403", "413", "421", "422", "503"} <= set(refused), (method, path)
            shapes = {one["content"]["application/json"]["schema"]["$ref"] for one in refused.values()}
            assert shapes == {"#/components/schemas/Trouble"}, (method, path)
    assert "HTTPValidationError" not in described["components"]["schemas"]


@pytest.mark.parametrize(
    ("name", "mode"),
    [(name, mode) for name in DESCRIBED for mode in GenerationMode if mode.is_positive or name not in WITHOUT_INPUT],
)
def test_answers_are_as_described(lab: Lab, schema: Any, name: str, mode: GenerationMode) -> None:
    method, _, path = name.partition(" ")
    operation = schema[path][method]

    @seed(20260401)
    @tries(
        max_examples=EXAMPLES,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(generation_mode=mode), known=st.booleans())
    def one(case: Any, known: bool) -> None:
        if known and mode is GenerationMode.POSITIVE:
            case.path_parameters = {**case.path_parameters, **{k: HELD[k] for k in case.path_parameters if k in HELD}}
        answer = sent(lab, case)
        case.validate_response(answer, checks=CHECKS)
        if answer.status_code >= 400:
            assert is_error(answer.json())
            assert "Traceback" not in answer.text

    one()


def sent(lab: Lab, case: Any) -> Any:
    """Send a case to the application in this process, with the token of its pages."""
    how = case.as_transport_kwargs(base_url=f"http://{HOST}")
    made = requests.Request(**how).prepare()
    headers = {name: value for name, value in made.headers.items() if name.lower() not in ("content-length", "host")}
    path = str(made.url).removeprefix(f"http://{HOST}")
    token = {TOKEN_HEADER: lab.people["bench"][1]}
    body = made.body.encode() if isinstance(made.body, str) else made.body
    return lab.ask(case.method, path, headers={**headers, **token}, content=body)
