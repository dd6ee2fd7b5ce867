"""Slowmatch from Python, by ctypes alone: burns a motor and takes its result as JSON.

    python3 embed.py MOTOR.json [libslowmatch.so.0]
"""

import ctypes
import json
import sys

lib = ctypes.CDLL(sys.argv[2] if len(sys.argv) > 2 else "libslowmatch.so.0")


class Diag(ctypes.Structure):
    """struct sm_diag: the problems found; zeros to begin with."""

    _fields_ = [("items", ctypes.c_void_p), ("n", ctypes.c_size_t), ("n_found", ctypes.c_size_t)]


WRITE = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.POINTER(ctypes.c_char), ctypes.c_size_t)


class Sink(ctypes.Structure):
    """struct sm_sink: where a writer's bytes go."""

    _fields_ = [("write", WRITE), ("user", ctypes.c_void_p)]


def burn(path):
    """The motor's result, as `slowmatch burn --json` has it."""
    motor, result, problems, chunks = ctypes.c_void_p(), ctypes.c_void_p(), Diag(), []

    def take(_user, data, n):
        chunks.append(ctypes.string_at(data, n))
        return 0

    status = lib.sm_motor_load(path.encode(), None, None, ctypes.byref(motor), ctypes.byref(problems))
    lib.sm_diag_release(ctypes.byref(problems))
    if status:
        raise ValueError(f"{path}: {ctypes.c_char_p(lib.sm_status_text(status)).value.decode()}")
    try:
        if lib.sm_simulate(motor, None, None, ctypes.byref(result), None):
            raise ArithmeticError(f"{path} has no answer")
        sink = Sink(WRITE(take), None)
        if lib.sm_result_write_json(result, ctypes.byref(sink), None):
            raise OSError("the result could not be written")
        return json.loads(b"".join(chunks))
    finally:
        lib.sm_result_free(result)
        lib.sm_motor_free(motor)


if len(sys.argv) < 2:
    sys.exit("usage: embed.py MOTOR.json [LIBRARY]")
lib.sm_status_text.restype = ctypes.c_void_p
answer = burn(sys.argv[1])
thrust = answer["summary"]["thrust"]
print(f"{answer['motor']}, predicted: {answer['summary']['class']['designation']}, {thrust['total_impulse']:.6g} N s")
