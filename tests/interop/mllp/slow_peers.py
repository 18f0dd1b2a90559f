#!/usr/bin/env python3
"""Peers that send a byte now and then, or never take their answers, do not hold up others.

While 64 connections have each begun a message and go on byte by byte, and some send orders without reading a single
answer, a quick client gets all of its answers.  The slow ones, in the end, get theirs.

usage: slow_peers.py PROGRAM RULES
"""
import pathlib
import socket
import sys
import threading

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from service import Service, framed, order, receive  # noqa: E402

SLOW, DEAF, QUICK = 64, 2, 200


def drip(peer, data, enough):
    """A byte a second, until the rest may go."""
    at = 0
    while not enough.wait(1) and at < len(data) - 1:
        peer.sendall(data[at:at + 1])
        at += 1
    peer.sendall(data[at:])


def flood(peer, data):
    """Sends until nothing more is taken; never reads."""
    peer.settimeout(0.2)
    try:
        for _ in range(100_000):
            peer.sendall(data)
    except OSError:
        pass


def deaf_peer(service):
    """One whose system takes only a little for it."""
    peer = socket.socket()
    peer.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    peer.connect(service.address)
    return peer


def main():
    program, rules = sys.argv[1:]
    with Service(program, "--in-work", "4", "--message-time", "600", rules=rules) as service:
        enough = threading.Event()
        slow = [service.connect() for _ in range(SLOW)]
        threads = [threading.Thread(target=drip, args=(peer, framed(order(f"S{i}")), enough))
                   for i, peer in enumerate(slow)]
        deaf = [deaf_peer(service) for _ in range(DEAF)]
        threads += [threading.Thread(target=flood, args=(peer, framed(order("D")) * 50)) for peer in deaf]
        for thread in threads:
            thread.start()
        quick = service.connect()
        for i in range(QUICK):
            quick.sendall(framed(order(f"Q{i}")))
            answer = receive(quick, 1)[0]
            assert f"\rMSA|AA|Q{i}\r".encode() in answer, answer
        enough.set()
        for i, peer in enumerate(slow):
            answer = receive(peer, 1)[0]
            assert f"\rMSA|AA|S{i}\r".encode() in answer, answer
        for thread in threads:
            thread.join()
        for peer in [quick, *slow, *deaf]:
            peer.close()
        status = service.stop()
        assert status == 0, status
    print(f"{QUICK} answers beside {SLOW} slow and {DEAF} deaf peers")
    return 0


if __name__ == "__main__":
    sys.exit(main())
