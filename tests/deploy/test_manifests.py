"""What stands in deploy/ is checked as far as that goes without a cluster and a container engine."""

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import kubernetes_validate
import pytest
import yaml

from api.cli import main

DEPLOY = Path(__file__).parents[2] / "deploy"
KUBERNETES = "1.30"


def documents() -> list[dict[str, Any]]:
    """Return the Kubernetes objects."""
    return list(yaml.safe_load_all((DEPLOY / "kubernetes" / "partsieve.yaml").read_text()))


def compose() -> dict[str, Any]:
    """Return the compose file."""
    read: dict[str, Any] = yaml.safe_load((DEPLOY / "compose.yaml").read_text())
    return read


def commands() -> Iterator[tuple[str, list[str], dict[str, str]]]:
    """Yield every call of the program: where it stands, its arguments, its variables (their values do not matter)."""
    for name, service in compose()["services"].items():
        if "partsieve" in service["image"]:
            yield f"compose {name}", service["command"], dict.fromkeys(service["environment"], "1")
    for each in documents():
        if each["kind"] == "Deployment":
            for container in each["spec"]["template"]["spec"]["containers"]:
                names = [variable["name"] for variable in container["env"]]
                yield f"kubernetes {container['name']}", container["args"], dict.fromkeys(names, "1")
    for path in sorted((DEPLOY / "systemd").glob("*.service")):
        (line,) = [each for each in path.read_text().splitlines() if each.startswith("ExecStart=")]
        variables = {"PARTSIEVE_WORKER_BROKER": "1"} if "EnvironmentFile" in path.read_text() else {}
        yield path.name, line.split()[1:], variables


@pytest.mark.parametrize(("arguments", "variables"), [pytest.param(*rest, id=name) for name, *rest in commands()])
def test_every_command_is_one_that_the_program_takes(
    arguments: list[str], variables: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each option exists and takes its value; each variable is read."""
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    group = main.make_context("partsieve", list(arguments), auto_envvar_prefix="PARTSIEVE")
    assert isinstance(main, click.Group)
    command = main.get_command(group, arguments[0])
    assert command is not None
    with group:
        context = command.make_context(arguments[0], list(arguments[1:]), parent=group)
    for name in variables:
        _, command_name, option = name.lower().split("_", 2)
        if command_name == arguments[0]:
            assert context.params[option] is not None, name
            assert context.get_parameter_source(option) == click.core.ParameterSource.ENVIRONMENT


@pytest.mark.parametrize("document", documents(), ids=lambda each: f"{each['kind']}-{each['metadata']['name']}")
def test_kubernetes_objects_fit_their_schemas(document: dict[str, Any]) -> None:
    """By the published OpenAPI schemas of Kubernetes, unknown fields refused."""
    kubernetes_validate.validate(document, KUBERNETES, strict=True)


@pytest.mark.skipif(shutil.which("kubectl") is None, reason="no kubectl here: kustomization.yaml is not built")
def test_the_kustomization_builds() -> None:
    """Every object comes out, in the namespace."""
    built = subprocess.run(
        ["kubectl", "kustomize", str(DEPLOY / "kubernetes")], capture_output=True, text=True, check=True
    )
    objects = list(yaml.safe_load_all(built.stdout))
    assert len(objects) == len(documents())
    assert {each["metadata"]["namespace"] for each in objects} == {"partsieve"}


def test_an_object_store_is_had_by_uncommenting() -> None:
    """The lines fit their files, and name variables that the program and the store's client read."""
    cluster = re.sub(r"# (- {name: (?:PARTSIEVE|AWS)_)", r"\1", (DEPLOY / "kubernetes" / "partsieve.yaml").read_text())
    named: list[set[str]] = []
    for document in yaml.safe_load_all(cluster):
        kubernetes_validate.validate(document, KUBERNETES, strict=True)
        if document["kind"] == "Deployment":
            (container,) = document["spec"]["template"]["spec"]["containers"]
            named.append({each["name"] for each in container["env"]})
    stack = yaml.safe_load(re.sub(r"# ((?:PARTSIEVE|AWS)_)", r"\1", (DEPLOY / "compose.yaml").read_text()))
    named += [set(stack["services"][each]["environment"]) for each in ("api", "worker")]
    credentials = {"AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"}
    assert all(credentials < each and each & {"PARTSIEVE_SERVE_STORE", "PARTSIEVE_WORKER_STORE"} for each in named)
    for name in ("serve", "worker"):
        assert "store" in {option.name for option in main.commands[name].params}


def test_containers_are_caged() -> None:
    """No root, nothing to write to but data and scratch, no privileges, probes where there is something to ask."""
    pods = [each["spec"]["template"]["spec"] for each in documents() if each["kind"] == "Deployment"]
    assert len(pods) == 2
    for pod in pods:
        assert pod["securityContext"]["runAsNonRoot"]
        for container in pod["containers"]:
            cage = container["securityContext"]
            assert cage["readOnlyRootFilesystem"]
            assert not cage["allowPrivilegeEscalation"]
            assert cage["capabilities"] == {"drop": ["ALL"]}
            assert "memory" in container["resources"]["limits"]
            assert {mount["mountPath"] for mount in container["volumeMounts"]} == {"/data", "/tmp"}  # noqa: S108
            assert container["name"] == "worker" or container["readinessProbe"]["httpGet"]["path"] == "/ready"
    (scaler,) = [each for each in documents() if each["kind"] == "HorizontalPodAutoscaler"]
    assert scaler["spec"]["metrics"][0]["external"]["metric"]["selector"]["matchLabels"] == {"state": "waiting"}


def test_compose_services_are_caged_and_know_one_another() -> None:
    """Each URL names a service that is there; passwords are in no file; only this machine can reach the port."""
    read = compose()
    assert set(read["services"]) == {"api", "worker", "redis", "postgres"}
    for name in ("api", "worker"):
        service = read["services"][name]
        assert service["read_only"]
        assert service["cap_drop"] == ["ALL"]
        assert all(
            "${" in value and ("@redis" in value or "@postgres" in value) for value in service["environment"].values()
        )
        assert set(service["depends_on"]) <= set(read["services"])
    assert read["services"]["api"]["ports"] == ["127.0.0.1:8765:8765"]
    used = {mount.split(":")[0] for each in read["services"].values() for mount in each.get("volumes", ())}
    assert used == set(read["volumes"])


def test_the_image_runs_without_root_and_can_be_asked() -> None:
    """The last user is not root; there is a health check; it serves by default."""
    lines = (DEPLOY / "Dockerfile").read_text().splitlines()
    assert [line for line in lines if line.startswith("USER")][-1] == "USER 10001:10001"
    assert any(line.startswith("HEALTHCHECK") for line in lines)
    copied = [
        each for line in lines if line.startswith("COPY ") and "--from" not in line for each in line.split()[1:-1]
    ]
    assert all((DEPLOY.parent / each).exists() for each in copied)


@pytest.mark.skipif(shutil.which("hadolint") is None, reason="no hadolint here: the Dockerfile is not linted")
def test_the_dockerfile_is_clean() -> None:
    """By its linter."""
    found = subprocess.run(["hadolint", str(DEPLOY / "Dockerfile")], capture_output=True, text=True, check=False)
    assert (found.stdout, found.returncode) == ("", 0)


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd-analyze here: units are not verified")
@pytest.mark.parametrize("unit", sorted(path.name for path in (DEPLOY / "systemd").glob("*.service")))
def test_systemd_units_are_sound(unit: str, tmp_path: Path) -> None:
    """Systemd finds nothing to complain of, once the program is where the unit says."""
    program = tmp_path / "partsieve"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    text = (DEPLOY / "systemd" / unit).read_text().replace("/opt/partsieve/bin/partsieve", str(program))
    (tmp_path / unit).write_text(text)
    found = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", str(tmp_path / unit)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "SYSTEMD_LOG_LEVEL": "warning"},
    )
    assert [line for line in found.stderr.splitlines() if unit in line] == []
