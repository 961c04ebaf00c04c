"""What describes the deployment, held against the published schemas and the rules of each tool."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from service import __version__
from service.api.path_documents import ROOT

DEPLOY = ROOT / "deploy"
MANIFESTS = sorted((DEPLOY / "kubernetes").glob("*.yaml"))
CONTAINERFILE = (DEPLOY / "Containerfile").read_text(encoding="utf-8")
BIN = Path(sys.executable).parent


def run(*command: str | Path) -> str:
    done = subprocess.run([*map(str, command)], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_the_container_file_passes_the_linter() -> None:
    run(BIN / "hadolint", "--failure-threshold", "style", DEPLOY / "Containerfile")
    last = CONTAINERFILE.rsplit("FROM", 1)[1]
    assert re.search(r"^USER [1-9][0-9]*:[1-9][0-9]*$", last, re.M)
    assert "--require-hashes" in CONTAINERFILE
    assert not re.search(r":latest|^ADD ", CONTAINERFILE, re.M)


def test_the_container_file_copies_what_there_is_and_its_ignore_file_lets_it_through() -> None:
    copied = re.findall(r"^COPY (?!--from)(.+) \S+$", CONTAINERFILE, re.M)
    files = {name for names in copied for name in names.split()}
    assert all((ROOT / name).exists() for name in files)
    ignored = (DEPLOY / "Containerfile.dockerignore").read_text(encoding="utf-8").splitlines()
    assert {line[1:] for line in ignored if line.startswith("!")} == files


def test_the_compose_file_is_by_the_compose_specification() -> None:
    run(BIN / "check-jsonschema", "--builtin-schema", "vendor.compose-spec",
        DEPLOY / "compose.yaml")  # fmt: skip
    services = yaml.safe_load((DEPLOY / "compose.yaml").read_text(encoding="utf-8"))["services"]
    for service in services.values():
        assert service["read_only"]
        assert service["cap_drop"] == ["ALL"]
        assert "no-new-privileges:true" in service["security_opt"]
        assert "privileged" not in service
        assert ":latest" not in service["image"]
        assert ":" in service["image"].rsplit("/", 1)[-1]
    assert {s["image"] for s in services.values()} >= {f"crochet-sizing:{__version__}"}


def test_the_manifests_are_by_the_schemas_of_kubernetes() -> None:
    run(BIN / "kubernetes-validate", "--strict", *MANIFESTS)
    # The schemas do refuse: a field that there is not, and one of another type.
    spoiled = (DEPLOY / "kubernetes" / "service.yaml").read_text(encoding="utf-8")
    for bad in (spoiled.replace("selector:", "selectors:"), spoiled.replace("port: 80", "port: x")):
        assert bad != spoiled
        done = subprocess.run(
            [BIN / "kubernetes-validate", "--strict", "/dev/stdin"], input=bad, text=True,
            capture_output=True, cwd=ROOT,
        )  # fmt: skip
        assert done.returncode != 0


def pod() -> Any:
    text = (DEPLOY / "kubernetes" / "deployment.yaml").read_text(encoding="utf-8")
    return yaml.safe_load(text)["spec"]["template"]["spec"]


def test_the_pod_keeps_the_restricted_profile() -> None:
    assert all(set(volume) == {"name", "emptyDir"} for volume in pod()["volumes"])
    keeps_the_restricted_profile(pod())


def keeps_the_restricted_profile(spec: Any) -> None:
    # Kubernetes, Pod Security Standards, profile "restricted": of volumes, these two among others.
    assert not {"hostNetwork", "hostPID", "hostIPC"} & set(spec)
    assert spec["securityContext"]["runAsNonRoot"] is True
    assert spec["securityContext"]["runAsUser"] > 0
    assert spec["securityContext"]["seccompProfile"] == {"type": "RuntimeDefault"}
    assert all(set(volume) - {"name"} <= {"emptyDir", "secret"} for volume in spec["volumes"])
    assert spec["automountServiceAccountToken"] is False
    for container in spec["initContainers"] + spec["containers"]:
        asked = container["securityContext"]
        assert asked["allowPrivilegeEscalation"] is False
        assert asked["readOnlyRootFilesystem"] is True
        assert asked["capabilities"] == {"drop": ["ALL"]}
        assert "privileged" not in asked
        assert all("hostPort" not in port for port in container.get("ports", ()))
        assert {"cpu", "memory"} <= set(container["resources"]["requests"])
        assert "memory" in container["resources"]["limits"]


def test_the_pod_is_left_time_to_stop() -> None:
    spec = pod()
    server, proxy = spec["containers"]
    drains = next(int(e["value"]) for e in server["env"] if e["name"] == "DRAIN_SECONDS")
    configuration = (DEPLOY / "gunicorn.conf.py").read_text(encoding="utf-8")
    (graceful,) = re.findall(r"^graceful_timeout = (\d+)", configuration, re.M)
    assert proxy["lifecycle"]["preStop"]["sleep"]["seconds"] < drains
    assert drains + int(graceful) < spec["terminationGracePeriodSeconds"]


def test_what_refers_to_one_another_does() -> None:
    made = [yaml.safe_load(path.read_text(encoding="utf-8")) for path in MANIFESTS]
    kinds = {m["kind"]: m for m in made}
    labels = kinds["Deployment"]["spec"]["template"]["metadata"]["labels"]
    for selector in (
        kinds["Deployment"]["spec"]["selector"]["matchLabels"],
        kinds["Service"]["spec"]["selector"],
        kinds["PodDisruptionBudget"]["spec"]["selector"]["matchLabels"],
        kinds["NetworkPolicy"]["spec"]["podSelector"]["matchLabels"],
    ):  # fmt: skip
        assert selector.items() <= labels.items()
    scaled = kinds["HorizontalPodAutoscaler"]["spec"]
    assert scaled["scaleTargetRef"]["name"] == kinds["Deployment"]["metadata"]["name"]
    assert scaled["metrics"][0]["containerResource"]["container"] == "server"
    # A budget of one lost pod stops nothing only where there are two.
    assert scaled["minReplicas"] >= 2
    ports = {p["name"] for c in pod()["containers"] for p in c["ports"]}
    told = {p["targetPort"] for p in kinds["Service"]["spec"]["ports"]}
    told |= {p["port"] for rule in kinds["NetworkPolicy"]["spec"]["ingress"] for p in rule["ports"]}
    assert told <= ports


def test_the_configurations_that_compose_and_kubernetes_ask_for_can_be_made() -> None:
    for given in ({}, {"SIZING_KEYS": "/etc/keys", "SIZING_KEYS_REQUIRED": "yes"}):
        services = composed(given)["services"]
        told = services["configuration"]["environment"]
        # The proxy is told the same as the servers.
        for name in ("server-1", "server-2"):
            assert services[name]["environment"].items() <= told.items()
        makes_a_configuration(told, bool(given))
    makes_a_configuration({e["name"]: e["value"] for e in pod()["initContainers"][0]["env"]}, False)
    makes_a_configuration(
        {e["name"]: e["value"] for e in patched()["initContainers"][0]["env"]}, True
    )


def composed(environment: dict[str, str]) -> Any:
    """The compose file with what it takes from the environment put in, as the specification has it
    (Compose specification, "Interpolation")."""

    def put(found: re.Match[str]) -> str:
        told = environment.get(found[1], "")
        return (found[3] if told else "") if found[2] == ":+" else told or found[3]

    def interpolated(node: Any) -> Any:
        if isinstance(node, dict):
            return {name: interpolated(value) for name, value in node.items()}
        if isinstance(node, list):
            return [*map(interpolated, node)]
        known = r"\$\{(\w+)(:[-+])([^}]*)\}"
        return re.sub(known, put, node) if isinstance(node, str) else node

    return interpolated(yaml.safe_load((DEPLOY / "compose.yaml").read_text(encoding="utf-8")))


def makes_a_configuration(settings: dict[str, str], keys: bool) -> None:
    made = subprocess.run(
        [sys.executable, DEPLOY / "nginx_conf.py"], env={**os.environ, **settings}, check=True,
        capture_output=True, text=True,
    ).stdout  # fmt: skip
    for upstream in settings["UPSTREAMS"].split(","):
        assert f"server {upstream} " in made
    assert ("bearer" in made) is ("proxy_cache_key keys:" in made) is keys


def test_keys_are_mounted_as_secrets_where_there_are_any() -> None:
    for file, mounted, told in (("", "/dev/null", ""), ("/etc/k", "/etc/k", "/run/secrets/keys")):
        made = composed({"SIZING_KEYS": file})
        assert made["secrets"] == {"keys": {"file": mounted}}
        for name in ("server-1", "server-2"):
            assert made["services"][name]["secrets"] == ["keys"]
            assert made["services"][name]["environment"]["SIZING_KEYS"] == told
        assert "secrets" not in made["services"]["proxy"]


def merged(value: Any, patch: Any, where: str = "") -> Any:
    """A strategic merge, as the types of Kubernetes ask for it: lists by name, mounts by path."""
    if isinstance(value, dict):
        return value | {k: merged(value[k], v, k) if k in value else v for k, v in patch.items()}
    if isinstance(value, list):
        key = "mountPath" if where == "volumeMounts" else "name"
        new = {item[key]: item for item in patch}
        return [merged(v, new.pop(v[key], {})) for v in value] + [*new.values()]
    return patch


def patched() -> Any:
    """The pod with keys."""
    deployment = (DEPLOY / "kubernetes" / "deployment.yaml").read_text(encoding="utf-8")
    patch = (DEPLOY / "kubernetes" / "keys" / "patch.yaml").read_text(encoding="utf-8")
    made = merged(yaml.safe_load(deployment), yaml.safe_load(patch))
    return made["spec"]["template"]["spec"]


def test_the_pod_with_keys_is_one_that_has_them_as_a_file(tmp_path: Path) -> None:
    spec = patched()
    keeps_the_restricted_profile(spec)
    deployment = yaml.safe_load((DEPLOY / "kubernetes" / "deployment.yaml").read_text())
    deployment["spec"]["template"]["spec"] = spec
    (tmp_path / "deployment.yaml").write_text(yaml.safe_dump(deployment))
    run(BIN / "kubernetes-validate", "--strict", tmp_path / "deployment.yaml")
    server = next(c for c in spec["containers"] if c["name"] == "server")
    (at,) = (e["value"] for e in server["env"] if e["name"] == "SIZING_KEYS")
    (mount,) = (m for m in server["volumeMounts"] if m["name"] == "keys")
    assert Path(at).parent == Path(mount["mountPath"])
    assert mount["readOnly"]
    assert "subPath" not in mount  # a secret that changes would not be seen
    (secret,) = (v["secret"] for v in spec["volumes"] if v["name"] == "keys")
    assert secret["defaultMode"] == 0o440  # by the group of the pod (fsGroup)
    # The proxy has no need of them.
    proxy = next(c for c in spec["containers"] if c["name"] == "proxy")
    assert "keys" not in {m["name"] for m in proxy["volumeMounts"]}


@pytest.fixture
def unit(tmp_path: Path) -> Path:
    """The unit with the paths of this clone, so that what it starts is there."""
    text = (DEPLOY / "crochet-sizing.service").read_text(encoding="utf-8")
    made = tmp_path / "crochet-sizing.service"
    text = text.replace("/opt/crochet-sizing/.venv/bin/python", sys.executable)
    made.write_text(text.replace("/opt/crochet-sizing", str(ROOT)))
    assert shutil.which("systemd-analyze"), "these tests need systemd: apt-get install systemd"
    return made


@pytest.mark.parametrize("keys", [False, True])
def test_the_unit_is_one_and_exposes_little(unit: Path, keys: bool) -> None:
    if keys:
        text = unit.read_text()
        made = re.sub(r"^#(LoadCredential|Environment)=", r"\1=", text, flags=re.M)
        assert made.count("\nLoadCredential=keys:") == made.count("SIZING_KEYS=%d/keys") == 1
        unit.write_text(made)
    run("systemd-analyze", "verify", "--man=no", unit)
    # 0 is none, 10 all; systemd calls up to 2 "safe". The threshold is in tenths.
    run("systemd-analyze", "security", "--offline=yes", "--no-pager", "--threshold=5", unit)


def test_the_unit_allows_what_gunicorn_does_to_its_socket(unit: Path) -> None:
    """It gives it to the user that it is; refused that, as with all that is @privileged, it ends.

    Seen where the unit was really started, and told by no check of systemd's.
    """
    told = [
        word
        for line in unit.read_text().splitlines()
        if line.startswith("SystemCallFilter=")
        for word in [line.partition("=")[2]]
    ]
    assert "BIND=unix:" in unit.read_text()
    assert told.index("@chown") > next(i for i, word in enumerate(told) if "@privileged" in word)


# Run inside: there is no network, so gunicorn listens on a socket, and nothing else to write to.
_SERVES = """
import http.client, os, socket, subprocess, sys, time
assert os.getuid() == 65532
for place in ("/", "."):
    try:
        open(os.path.join(place, "written"), "w")
        sys.exit("it could be written")
    except OSError:
        pass
os.environ["BIND"] = "unix:/dev/shm/socket"
os.environ["SIZING_KEYS"] = "/dev/shm/keys"
with open("/dev/shm/keys", "w") as keys:
    keys.write("cup sha256:" + "0" * 64 + " rate=1")
server = subprocess.Popen([sys.executable, "-m", "gunicorn", "--config", "deploy/gunicorn.conf.py",
                           "service:create_app()"])
for path in ("/readyz", "/v1/shaping?from=38&to=20&rows=40", "/metrics"):
    connection = http.client.HTTPConnection("kit", timeout=10)
    connection.sock = socket.socket(socket.AF_UNIX)
    for _ in range(200):
        try:
            connection.sock.connect("/dev/shm/socket")
            break
        except OSError:
            time.sleep(0.05)
    connection.request("GET", path)
    print(connection.getresponse().status)
server.terminate()
sys.exit(server.wait(10))
"""


def test_it_serves_from_a_root_that_cannot_be_written_with_no_privileges() -> None:
    """As the container has it: all is read-only but shared memory, the user owns nothing to write
    to and may not become another, and there is no network."""
    script = f"""
        set -e
        mount -o remount,ro,bind /
        mount --bind {ROOT} {ROOT} && mount -o remount,ro,bind {ROOT}
        mount -t tmpfs none /dev/shm
        cd {ROOT}
        exec unshare --user --map-user=65532 --map-group=65532 \\
            setpriv --no-new-privs "$0" -c "$1"
    """
    apart = ["unshare", "--mount", "--net", "--ipc"] + ["--map-root-user"] * (os.getuid() != 0)
    done = subprocess.run(
        [*apart, "sh", "-c", script, sys.executable, _SERVES], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert re.findall(r"^\d+$", done.stdout, re.M) == ["200"] * 3
