"""A headless Chromium, driven over WebDriver (W3C) with the standard library alone."""

import base64
import contextlib
import json
import shutil
import socket
import subprocess
import tempfile
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

FLAGS = ["--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--hide-scrollbars", "--allow-file-access-from-files"]


def why_not() -> str:
    """Why there is no browser here; empty when there is one."""
    missing = [name for name in ("chromium", "chromedriver") if shutil.which(name) is None]
    return f"no {' and no '.join(missing)} on this machine" if missing else ""


class Browser:
    """One window; ``run`` evaluates JavaScript and returns its value."""

    def __init__(self, width: int = 1300, height: int = 900) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.folder = tempfile.mkdtemp(prefix="browser-")
        self.driver = subprocess.Popen(["chromedriver", f"--port={self.port}", "--silent"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self._wait_until_ready()
        options = {"args": [*FLAGS, f"--user-data-dir={self.folder}", f"--window-size={width},{height}"], "binary": shutil.which("chromium")}
        wanted = {"goog:chromeOptions": options, "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"}}
        self.session = ""
        self.session = f"/session/{self.ask('POST', '/session', {'capabilities': {'alwaysMatch': wanted}})['sessionId']}"

    def _wait_until_ready(self) -> None:
        for _ in range(100):
            with contextlib.suppress(urllib.error.URLError, ConnectionError, AttributeError):
                self.session = ""
                if self.ask("GET", "/status")["ready"]:
                    return
            time.sleep(0.1)
        raise AssertionError("chromedriver did not answer within ten seconds")

    def ask(self, method: str, path: str, body: dict[str, Any] | None = None) -> Any:
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{self.session}{path}", data=data, method=method)
        request.add_header("Content-Type", "application/json")
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as fault:
            with fault:
                raise AssertionError(fault.read().decode()) from None

    def open(self, path: Path) -> None:
        self.ask("POST", "/url", {"url": path.as_uri()})

    def run(self, script: str, *arguments: Any) -> Any:
        return self.ask("POST", "/execute/sync", {"script": script, "args": list(arguments)})

    def _element(self, selector: str) -> str:
        return next(iter(self.ask("POST", "/element", {"using": "css selector", "value": selector}).values()))

    def click(self, selector: str) -> None:
        self.ask("POST", f"/element/{self._element(selector)}/click", {})

    def type(self, selector: str, text: str) -> None:
        self.ask("POST", f"/element/{self._element(selector)}/value", {"text": text})

    def devtools(self, command: str, **parameters: Any) -> Any:
        """Ask by the DevTools protocol what WebDriver has no word for."""
        return self.ask("POST", "/goog/cdp/execute", {"cmd": command, "params": parameters})

    def resize(self, width: int, height: int) -> None:
        self.ask("POST", "/window/rect", {"width": width, "height": height})

    def console(self) -> list[str]:
        """Every message of the console since the last call."""
        return [entry["message"] for entry in self.ask("POST", "/se/log", {"type": "browser"})]

    def requests(self) -> list[str]:
        """Every address that was asked for since the last call, without those on this machine."""
        events = [json.loads(entry["message"])["message"] for entry in self.ask("POST", "/se/log", {"type": "performance"})]
        asked = [event["params"]["request"]["url"] for event in events if event["method"] == "Network.requestWillBeSent"]
        return [address for address in asked if not address.startswith(("data:", "file:", "chrome:"))]

    def pdf(self, **options: Any) -> bytes:
        return base64.b64decode(self.ask("POST", "/print", options))

    def screenshot(self) -> bytes:
        return base64.b64decode(self.ask("GET", "/screenshot"))

    def close(self) -> None:
        with contextlib.suppress(AssertionError, OSError):
            self.ask("DELETE", "")
        self.driver.terminate()
        self.driver.wait(timeout=10)
        shutil.rmtree(self.folder, ignore_errors=True)
