#!/usr/bin/env python3
"""A thousand requests, malformed ones among them, to a workbench: it goes on answering, and its memory stays flat.

    soak.py PROGRAM MOTOR [--sanitized]

A sanitizer keeps what is freed for a while, so there its own search for leaks at the end takes the place of the memory's size.

The malformed ones are those of common practice (no source): wrong names, origins and addresses, lines that are no HTTP, bodies
that are cut off, too large, or no motor.
"""
import http.client
import json
import random
import signal
import socket
import subprocess
import sys
import time
from urllib.parse import urlsplit

program, motor_path = sys.argv[1:3]
is_sanitized = "--sanitized" in sys.argv
motor = open(motor_path, "rb").read()
ROUNDS, WARM_UP = 1000, 400
# Buffers and threads' own heaps settle in the warm-up. A leak of one answer of 15 kB a request would come to 9 MB.
ALLOWED_GROWTH = 3e6  # bytes

server = subprocess.Popen([program, "workbench"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
address = server.stdout.readline().strip()
parts = urlsplit(address)
origin = f"{parts.scheme}://{parts.netloc}"


def resident():
    for line in open(f"/proc/{server.pid}/status"):
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) * 1024


def ask(method, path, body=None, headers=None, host=None):
    connection = http.client.HTTPConnection(parts.hostname, parts.port, timeout=30)
    try:
        connection.putrequest(method, path, skip_host=True)
        connection.putheader("Host", host or parts.netloc)
        for name, value in (headers or {}).items():
            connection.putheader(name, value)
        if body is not None:
            connection.putheader("Content-Length", str(len(body)))
        connection.endheaders(body)
        answer = connection.getresponse()
        return answer.status, answer.read()
    finally:
        connection.close()


def raw(data, reads=True):
    with socket.create_connection((parts.hostname, parts.port), timeout=30) as s:
        answer = b""
        try:
            s.sendall(data)
            if not reads:
                return b""
            s.shutdown(socket.SHUT_WR)
            while chunk := s.recv(65536):
                answer += chunk
        except OSError:
            pass  # hung up on, as it may be
        return answer


def post(path, body, **more):
    return ask("POST", parts.path + path, body, {"Origin": origin, **more})


def good_trial():
    status, body = post("trial", motor)
    assert status == 200 and json.loads(body)["designation"] == "H13", (status, body[:200])


def no_motor():
    for body in (b"", b"{", b"\0" * 40, b"[" * 5000, motor[: rng.randrange(len(motor) - 10)], bytes(rng.randrange(256) for _ in range(300))):
        status, answer = post("trial", body)
        assert status in (200, 400) and (status == 400 or "problems" in json.loads(answer)), (status, answer[:200])


def strangers():
    assert ask("GET", parts.path, host="evil.example")[0] == 403
    assert ask("GET", parts.path, headers={"Origin": "http://evil.example"})[0] == 403
    assert ask("POST", parts.path + "trial", motor, {"Origin": "http://evil.example"})[0] == 403
    assert ask("POST", parts.path + "trial", motor)[0] == 403
    assert ask("GET", "/")[0] == 403
    assert ask("GET", "/" + "0" * 32 + "/rows")[0] == 403
    assert ask("GET", parts.path + "rows", headers={"Sec-Fetch-Site": "cross-site"})[0] == 403


def wrong_ways():
    assert ask("GET", parts.path + "trial")[0] == 405
    assert ask("DELETE", parts.path + "rows")[0] == 405
    assert post("nothing", b"x")[0] == 404
    assert ask("GET", parts.path + "../../etc/passwd")[0] == 404
    assert ask("GET", parts.path + "rows?" + "&".join(f"a{i}=1" for i in range(40)))[0] == 400
    assert ask("GET", parts.path + "rows?x=" + "y" * 3000)[0] == 400


def no_http():
    raw(b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(200))
    raw(b"GET\r\n\r\n")
    raw(b"G" * 40000)
    raw(f"GET {parts.path} HTTP/1.1\r\nHost: {parts.netloc}\r\nX: {'x' * 60000}\r\n\r\n".encode())
    raw(f"POST {parts.path}trial HTTP/1.1\r\nHost: {parts.netloc}\r\nOrigin: {origin}\r\n"
        "Transfer-Encoding: chunked\r\n\r\nzz\r\n".encode())


def cut_off():
    head = f"POST {parts.path}trial HTTP/1.1\r\nHost: {parts.netloc}\r\nOrigin: {origin}\r\nContent-Length: {len(motor)}\r\n\r\n"
    raw(head.encode() + motor[:100], reads=False)
    too_much = head.replace(str(len(motor)), str(1 << 40))
    assert b" 413 " in raw(too_much.encode() + b"x"), "a body of a terabyte was not refused"


def let_go():
    """A search that nobody waits for any more."""
    head = (f"POST {parts.path}spread?samples=100000 HTTP/1.1\r\nHost: {parts.netloc}\r\nOrigin: {origin}\r\n"
            f"Content-Length: {len(motor)}\r\n\r\n")
    raw(head.encode() + motor, reads=False)


def too_many():
    """Of three searches at once the last is put off; none of them is waited for."""
    head = (f"POST {parts.path}spread?samples=100000 HTTP/1.1\r\nHost: {parts.netloc}\r\nOrigin: {origin}\r\n"
            f"Content-Length: {len(motor)}\r\n\r\n")
    waiting, answers = [], []
    for _ in range(3):
        waiting.append(socket.create_connection((parts.hostname, parts.port), timeout=30))
        waiting[-1].sendall(head.encode() + motor)
        answers.append(waiting[-1].recv(64))
    for s in waiting:
        s.close()
    assert b" 200 " in answers[0] and b" 503 " in answers[2], answers


def too_big():
    """A body whose length is not told beforehand."""
    n = 9 << 20
    answer = raw(f"POST {parts.path}trial HTTP/1.1\r\nHost: {parts.netloc}\r\nOrigin: {origin}\r\nTransfer-Encoding: chunked\r\n\r\n"
                 f"{n:x}\r\n".encode() + b" " * n + b"\r\n0\r\n\r\n")
    assert b" 413 " in answer, answer[:200]


rng = random.Random(9)
kinds = [good_trial] * 6 + [no_motor, strangers, wrong_ways, no_http, cut_off]
sent, before = 0, None
try:
    too_many()
    too_big()
    while sent < ROUNDS:
        kind = rng.choice(kinds)
        kind()
        sent += {no_motor: 6, strangers: 7, wrong_ways: 6, no_http: 5, cut_off: 2}.get(kind, 1)
        if before is None and sent % 100 < 2:
            let_go()
        if before is None and sent >= WARM_UP:
            time.sleep(2)  # the searches let go see it when they next say how far they are
            before = resident()
    good_trial()
    growth = resident() - before
    print(f"{sent} requests; {before / 1e6:.1f} MB after {WARM_UP}, {growth / 1e6:+.2f} MB since")
    assert is_sanitized or growth < ALLOWED_GROWTH, "its memory grows"
    server.send_signal(signal.SIGINT)
    assert server.wait(timeout=20) == 0, "it did not end well"
finally:
    server.kill()
