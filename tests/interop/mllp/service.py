"""A `meniscus serve` of its own for a test, and what its answers are compared with."""
import json
import re
import signal
import socket
import subprocess
import threading

VT, END = b"\x0b", b"\x1c\r"


def framed(message):
    return VT + message + END


def frames_of(data):
    """The whole frames of some bytes, without their first and last bytes."""
    return re.findall(rb"\x0b(.*?)\x1c\r", data, re.DOTALL)


def order(number, mark="SM-0012", modes="", dose="50"):
    """An order whose dose agrees with its volume when it is 50 mg; `mark` stands wherever a patient can be named."""
    return (f"MSH|^~\\&|ORDERS|SLATEMOOR|PHARMACY|SLATEMOOR|20260302091400+0100||RDE^O11^RDE_O11|{number}|P|2.5.1|||{modes}\r"
            f"PID|1||{mark}^^^SLATEMOOR^MR||{mark}^{mark}||19880402|F|||{mark}\r"
            f"AL1|1|DA|{mark}^{mark}^L\r"
            f"ORC|NW|{number}^SLATEMOOR|||||^^^20260302||20260302091400+0100|||P-7^{mark}\r"
            f"RXE|1^QW^^20260302|testosterone-cypionate^Testosterone cypionate 200 mg/mL^L|{dose}||mg||"
            f"^Inject 0.25 mL under the skin once a week {mark}|||1|VIAL||||||||||||||200|mg|||||||1|mL\r"
            f"RXR|SC^Subcutaneous^HL70162|ABD^abdomen^HL70163\rNTE|1||{mark}\r").encode()


class Service:
    """Starts the program and reads the line that says where it listens."""

    def __init__(self, program, *options, rules=None, environment=None):
        words = [program, "serve", "--listen", "127.0.0.1:0", "--on-hold", "ua", *options]
        if rules:
            words += ["--only-rules", "--rules", rules]
        self.process = subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                                        text=True, env=environment)
        self.log = []
        self.logged = threading.Condition()
        self.reader = threading.Thread(target=self.read_log)
        self.reader.start()
        line = self.process.stdout.readline()
        if not line:
            self.reader.join()
            raise RuntimeError("the service did not start: " + "".join(self.log))
        self.says = json.loads(line)
        host, port = self.says["mllp"].rsplit(":", 1)
        self.address = (host, int(port))

    def read_log(self):
        for line in self.process.stderr:
            with self.logged:
                self.log.append(line)
                self.logged.notify_all()

    def wait_for_log(self, part):
        with self.logged:
            if not self.logged.wait_for(lambda: any(part in line for line in self.log), timeout=60):
                raise AssertionError(f"the log never said `{part}`: {''.join(self.log)}")

    def connect(self):
        return socket.create_connection(self.address, timeout=60)

    def signal(self, number):
        self.process.send_signal(number)

    def stop(self):
        """Ends it and gives its exit status."""
        self.signal(signal.SIGTERM)
        status = self.process.wait(timeout=60)
        self.reader.join()
        return status

    def __enter__(self):
        return self

    def __exit__(self, *problem):
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        self.reader.join()
        self.process.stdout.close()
        self.process.stderr.close()


def receive(peer, count):
    """The next `count` answers of a connection."""
    data = b""
    while len(frames_of(data)) < count:
        piece = peer.recv(65536)
        if not piece:
            raise AssertionError(f"closed after {len(frames_of(data))} of {count} answers")
        data += piece
    return frames_of(data)


def get(address, path):
    """A page of the status server: its status and its text."""
    import http.client
    host, port = address.rsplit(":", 1)
    connection = http.client.HTTPConnection(host, int(port), timeout=60)
    connection.request("GET", path)
    response = connection.getresponse()
    text = response.read().decode()
    connection.close()
    return response.status, text
