"""A real PostgreSQL server on a free port of this machine, with its data in a folder that goes with it."""

import os
import pwd
import secrets
import shutil
import subprocess
from pathlib import Path

import psycopg

from tests.worker.processes import free_port, wait_until


def _program(name: str) -> str | None:
    """Return where a server program is; Debian keeps them out of the PATH."""
    return shutil.which(name) or next(
        (str(each) for each in sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), reverse=True)), None
    )


class Postgres:
    """One server; it refuses to run as root, so root starts it as the user that its package made."""

    def __init__(self, folder: Path, address: str = "127.0.0.1") -> None:
        self._folder, self._address = folder, address
        self.port = free_port()
        self._user = "postgres" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
        self._process: subprocess.Popen[bytes] | None = None
        folder.mkdir()
        if os.geteuid() == 0:
            shutil.chown(folder, self._user)
            for above in folder.parents:
                if above.stat().st_uid == 0 and above != Path("/"):
                    above.chmod(above.stat().st_mode | 0o011)
        data = folder / "data"
        self._run("initdb", "-D", str(data), "-U", "shop", "--auth=trust", "--no-sync", "-E", "UTF8")

    @staticmethod
    def installed() -> bool:
        """Return True where the machine has one."""
        return _program("initdb") is not None and _program("postgres") is not None

    def new_database(self) -> str:
        """Make an empty database and return its URL."""
        name, server = f"d{secrets.token_hex(4)}", f"postgresql://shop@{self._address}:{self.port}"
        with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}".encode())
        return f"{server}/{name}"

    def start(self) -> None:
        """Start it and wait until it answers."""
        with (self._folder / "data" / "pg_hba.conf").open("a") as rules:
            rules.write(f"host all all {self._address}/16 trust\n")
        options = {
            "listen_addresses": "*" if self._address != "127.0.0.1" else "127.0.0.1",
            "unix_socket_directories": "",
            "fsync": "off",
        }
        arguments = [str(_program("postgres")), "-D", str(self._folder / "data"), "-p", str(self.port)]
        arguments += [f"-c{name}={value}" for name, value in options.items()]
        self._process = subprocess.Popen(self._as_user(arguments), stderr=subprocess.DEVNULL, cwd=self._folder)
        wait_until("PostgreSQL answers", self._answers)

    def kill(self) -> None:
        """Kill it as a power cut would; it recovers when started again."""
        if self._process is not None:
            for line in Path(self._folder / "data" / "postmaster.pid").read_text().splitlines()[:1]:
                subprocess.run(self._as_user([str(_program("pg_ctl")), "kill", "QUIT", line]), check=False)
            self._process.wait()
            self._process = None

    def _answers(self) -> bool:
        ready = [str(_program("pg_isready")), "-h", "127.0.0.1", "-p", str(self.port)]
        return subprocess.run(ready, stdout=subprocess.DEVNULL, check=False).returncode == 0

    def _run(self, name: str, *arguments: str) -> None:
        command = self._as_user([str(_program(name)), *arguments])
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=self._folder)

    def _as_user(self, command: list[str]) -> list[str]:
        return (
            ["setpriv", f"--reuid={self._user}", f"--regid={self._user}", "--clear-groups", *command]
            if (os.geteuid() == 0)
            else command
        )
