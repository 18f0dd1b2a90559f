"""Chromium without a window, driven over the DevTools protocol through a pipe: messages of JSON that end with a zero byte.

The protocol: https://chromedevtools.github.io/devtools-protocol/ (Page, Runtime, Log, Emulation).
"""
import base64
import json
import os
import select
import subprocess
import tempfile
import time

SECONDS = 120  # that an answer may take, on a busy machine


class Browser:
    """One browser with one page.  `said` collects errors, warnings and exceptions of the page, `asked` its requests."""

    def __init__(self):
        self.folder = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        self.buffer, self.number, self.session, self.events = b"", 0, None, []
        self.said, self.asked = [], []
        theirs_in, self.to = os.pipe()
        self.back, theirs_out = os.pipe()
        flags = ("--headless --no-sandbox --disable-gpu --disable-dev-shm-usage --no-first-run --remote-debugging-pipe "
                 "--disable-background-networking")
        # The browser speaks on its descriptors 3 and 4.
        command = f'exec chromium {flags} --user-data-dir="$0" 3<&{theirs_in} 4>&{theirs_out}'
        self.process = subprocess.Popen(["sh", "-c", command, self.folder.name], pass_fds=(theirs_in, theirs_out),
                                        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(theirs_in)
        os.close(theirs_out)
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(domain + ".enable")

    def __enter__(self):
        return self

    def __exit__(self, *_):
        try:
            self.session = None
            self.call("Browser.close")
            self.process.wait(20)
        except (OSError, RuntimeError, subprocess.TimeoutExpired):
            self.process.kill()
            self.process.wait()
        os.close(self.to)
        os.close(self.back)
        self.folder.cleanup()

    def call(self, method, **parameters):
        """The result of a command; its error ends the test."""
        self.number += 1
        message = {"id": self.number, "method": method, "params": parameters}
        if self.session:
            message["sessionId"] = self.session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self.to, data):]
        until = time.monotonic() + SECONDS
        while True:
            answer = self.receive(until)
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]
            self.note(answer)

    def receive(self, until):
        while b"\0" not in self.buffer:
            ready, _, _ = select.select([self.back], [], [], max(0, until - time.monotonic()))
            if not ready:
                raise RuntimeError(f"the browser did not answer within {SECONDS} s")
            piece = os.read(self.back, 1 << 20)
            if not piece:
                raise RuntimeError("the browser ended")
            self.buffer += piece
        message, self.buffer = self.buffer.split(b"\0", 1)
        return json.loads(message)

    def note(self, event):
        method, parameters = event.get("method"), event.get("params", {})
        self.events.append(method)
        if method == "Runtime.exceptionThrown":
            self.said.append(json.dumps(parameters["exceptionDetails"]))
        elif method == "Runtime.consoleAPICalled":
            self.said.append(json.dumps(parameters["args"]))
        elif method == "Log.entryAdded":
            self.said.append(parameters["entry"]["level"] + ": " + parameters["entry"]["text"])
        elif method == "Network.requestWillBeSent":
            self.asked.append(parameters["request"]["url"])

    def open(self, url, width=1280, height=900):
        """Opens an address and waits until it is loaded; from a blank page, as another #anchor alone loads nothing."""
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        for address in ("about:blank", url):
            self.said, self.asked, self.events = [], [], []
            self.call("Page.navigate", url=address)
            self.wait_for("Page.loadEventFired")

    def wait_for(self, event):
        until = time.monotonic() + SECONDS
        while event not in self.events:
            self.note(self.receive(until))

    def run(self, script):
        """The value of an expression in the page, as JSON has it."""
        result = self.call("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in result:
            raise RuntimeError(json.dumps(result["exceptionDetails"]))
        return result["result"].get("value")

    def pdf(self, path):
        got = self.call("Page.printToPDF", printBackground=True, preferCSSPageSize=True)
        path.write_bytes(base64.b64decode(got["data"]))

    def picture(self, path, left, top, width, height):
        clip = {"x": left, "y": top, "width": width, "height": height, "scale": 1}
        got = self.call("Page.captureScreenshot", clip=clip, captureBeyondViewport=True)
        path.write_bytes(base64.b64decode(got["data"]))
