#!/usr/bin/env python3
"""TLS with certificates on both sides, and certificates changed while the service runs.

Makes two authorities with the openssl tool in a folder of its own.  A sender with a certificate of the right one is answered; one
without, one of the other, and one that speaks plain text are refused, and the others are answered on.  After SIGHUP new
connections see the new certificate; a key that does not belong to it is refused and the former stays.

usage: tls.py PROGRAM RULES
"""
import pathlib
import signal
import ssl
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from service import Service, framed, order, receive  # noqa: E402


def openssl(folder, *words):
    subprocess.run(["openssl", *words], cwd=folder, check=True, capture_output=True)


def make_authority(folder, name):
    openssl(folder, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "2",
            "-subj", f"/CN={name}", "-keyout", f"{name}.key", "-out", f"{name}.pem")


def make_certificate(folder, name, authority, serial):
    openssl(folder, "req", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-subj", f"/CN={name}",
            "-keyout", f"{name}.key", "-out", f"{name}.csr")
    (folder / f"{name}.ext").write_text("subjectAltName=IP:127.0.0.1\n")
    openssl(folder, "x509", "-req", "-in", f"{name}.csr", "-CA", f"{authority}.pem", "-CAkey", f"{authority}.key",
            "-set_serial", str(serial), "-days", "2", "-extfile", f"{name}.ext", "-out", f"{name}.pem")


def connect(service, folder, client=None, version=None):
    context = ssl.create_default_context(cafile=folder / "ours.pem")
    if version:
        context.maximum_version = version
    if client:
        context.load_cert_chain(folder / f"{client}.pem", folder / f"{client}.key")
    return context.wrap_socket(service.connect(), server_hostname="127.0.0.1")


def is_answered(peer, number):
    peer.sendall(framed(order(number)))
    return f"\rMSA|AA|{number}\r".encode() in receive(peer, 1)[0]


def is_refused(open_peer):
    """The connection ends without an answer, when it begins or with the first message."""
    try:
        with open_peer() as peer:
            peer.sendall(framed(order("X")))
            return peer.recv(65536) == b""
    except (ssl.SSLError, ConnectionError):
        return True


def serial_of(peer):
    return int(peer.getpeercert()["serialNumber"], 16)


def main():
    program, rules = sys.argv[1:]
    with tempfile.TemporaryDirectory(prefix="meniscus-tls-") as name:
        folder = pathlib.Path(name)
        for authority in ("ours", "other"):
            make_authority(folder, authority)
        make_certificate(folder, "service", "ours", 101)
        make_certificate(folder, "sender", "ours", 102)
        make_certificate(folder, "stranger", "other", 103)
        with Service(program, "--tls-certificate", str(folder / "service.pem"), "--tls-key", str(folder / "service.key"),
                     "--tls-client-ca", str(folder / "ours.pem"), rules=rules) as service:
            with connect(service, folder, "sender") as peer:
                assert is_answered(peer, "A-1")
                assert serial_of(peer) == 101
                assert is_refused(lambda: connect(service, folder)), "without a certificate"
                assert is_refused(lambda: connect(service, folder, "stranger")), "of another authority"
                assert is_refused(service.connect), "in plain text"
                with connect(service, folder, "sender", ssl.TLSVersion.TLSv1_2) as older:
                    assert is_answered(older, "A-2")

                make_certificate(folder, "fresh", "ours", 104)
                (folder / "service.pem").write_bytes((folder / "fresh.pem").read_bytes())
                service.signal(signal.SIGHUP)  # the key is still the former one
                service.wait_for_log("the certificates that were in force stay")
                with connect(service, folder, "sender") as another:
                    assert serial_of(another) == 101
                (folder / "service.key").write_bytes((folder / "fresh.key").read_bytes())
                service.signal(signal.SIGHUP)
                while True:  # until the signal has arrived
                    with connect(service, folder, "sender") as another:
                        assert is_answered(another, "A-3")
                        if serial_of(another) == 104:
                            break
                assert is_answered(peer, "A-4"), "a connection keeps what it began with"
            assert service.stop() == 0
    print("answered with a certificate; refused without, of another authority, and in plain text; changed while running")
    return 0


if __name__ == "__main__":
    sys.exit(main())
