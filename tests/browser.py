"""A headless Chromium, driven over the DevTools protocol through a pipe, with the standard library alone."""

import base64
import contextlib
import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update",
         "--disable-sync", "--hide-scrollbars", "--remote-debugging-pipe"]
#: The protocol wants descriptors 3 and 4: ours are moved out of the way, then put there, then the browser takes over.
LAUNCHER = """
import fcntl, os, sys
to_read, to_write = (fcntl.fcntl(int(number), fcntl.F_DUPFD, 10) for number in sys.argv[1:3])
os.dup2(to_read, 3)
os.dup2(to_write, 4)
os.execv(sys.argv[3], sys.argv[3:])
"""
NAMES = ("chromium", "chromium-browser", "google-chrome")


def binary() -> str | None:
    """The browser of this machine, None when it has none."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


def why_not() -> str:
    """Why there is no browser here; empty when there is one."""
    return "" if binary() else "no Chromium on this machine"


class Browser:
    """One page; ``run`` evaluates the body of a JavaScript function and returns its value."""

    def __init__(self, width: int = 1300, height: int = 900) -> None:
        self.folder = tempfile.mkdtemp(prefix="browser-")
        for_browser, self._to = os.pipe()
        self._from, by_browser = os.pipe()
        command = [binary() or "", *FLAGS, f"--user-data-dir={self.folder}", "about:blank"]
        launch = [sys.executable, "-c", LAUNCHER, str(for_browser), str(by_browser), *command]
        self.process = subprocess.Popen(launch, pass_fds=(for_browser, by_browser), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(for_browser)
        os.close(by_browser)
        self._number, self._rest, self._session = 0, b"", ""
        self.events: list[dict[str, Any]] = []
        target = self.devtools("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.devtools("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.devtools(f"{domain}.enable")
        self.resize(width, height)

    def _read(self, until: float) -> dict[str, Any]:
        while b"\0" not in self._rest:
            if not select.select([self._from], [], [], max(0.0, until - time.monotonic()))[0]:
                raise AssertionError("the browser did not answer in time")
            part = os.read(self._from, 1 << 20)
            assert part, "the browser has gone"
            self._rest += part
        message, _, self._rest = self._rest.partition(b"\0")
        return json.loads(message)

    def devtools(self, command: str, **parameters: Any) -> Any:
        """Send one command and return its result; events that come meanwhile are kept."""
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": command, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._to, json.dumps(message).encode() + b"\0")
        until = time.monotonic() + 60
        while (answer := self._read(until)).get("id") != self._number:
            self.events.append(answer)
        assert "error" not in answer, answer.get("error")
        return answer["result"]

    def _wait_for(self, event: str) -> None:
        until = time.monotonic() + 60
        while not any(one.get("method") == event for one in self.events):
            self.events.append(self._read(until))

    def open(self, path: Path) -> None:
        """Open a file and wait until it is loaded."""
        self.events.clear()
        self.devtools("Page.navigate", url=path.as_uri())
        self._wait_for("Page.loadEventFired")

    def run(self, body: str) -> Any:
        """Return what the body of a function returns."""
        answer = self.devtools("Runtime.evaluate", expression=f"(function () {{ {body} }})()", returnByValue=True)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def click(self, selector: str) -> None:
        """Press the mouse on the middle of an element, where the page must show that element and no other."""
        x, y = self._middle(selector)
        for kind in ("mousePressed", "mouseReleased"):
            self.devtools("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def _middle(self, selector: str) -> tuple[float, float]:
        found = self.run(
            f"var e = document.querySelector({json.dumps(selector)}); e.scrollIntoView({{block: 'center', behavior: 'instant'}});"
            "var b = e.getBoundingClientRect(), x = b.x + b.width / 2, y = b.y + b.height / 2, top = document.elementFromPoint(x, y);"
            "return [x, y, e === top || e.contains(top)];"
        )
        assert found[2], f"{selector} is covered or out of sight"
        return found[0], found[1]

    def type(self, selector: str, text: str) -> None:
        self.click(selector)
        self.devtools("Input.insertText", text=text)

    def press(self, key: str) -> None:
        code, text = {"Tab": (9, ""), "Enter": (13, "\r")}.get(key, (0, ""))
        for kind in ("keyDown", "keyUp"):
            self.devtools("Input.dispatchKeyEvent", type=kind, key=key, windowsVirtualKeyCode=code, text=text)

    def resize(self, width: int, height: int) -> None:
        self.devtools("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)

    def console(self) -> list[Any]:
        """Every message, fault and warning of the page since it was opened."""
        kinds = ("Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded")
        self.run("return 0")
        return [event["params"] for event in self.events if event.get("method") in kinds]

    def requests(self) -> list[str]:
        """Every address that the page asked for since it was opened, its own file and data: left out."""
        self.run("return 0")
        asked = [event["params"]["request"]["url"] for event in self.events if event.get("method") == "Network.requestWillBeSent"]
        return [address for address in asked if not address.startswith(("data:", "file:"))]

    def pdf(self, **options: Any) -> bytes:
        return base64.b64decode(self.devtools("Page.printToPDF", **options)["data"])

    def screenshot(self) -> bytes:
        return base64.b64decode(self.devtools("Page.captureScreenshot")["data"])

    def close(self) -> None:
        self._session = ""
        with contextlib.suppress(AssertionError, OSError):
            self.devtools("Browser.close")
        os.close(self._to)
        os.close(self._from)
        try:
            self.process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)
