"""Installs into a folder, moves it elsewhere, and uses command, library, headers and pages from there.

    prefix.py BUILD SOURCE COMPILER
"""

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

build, source, compiler = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
checks = failed = 0


def check(right, what):
    global checks, failed
    checks += 1
    if not right:
        failed += 1
        print(f"FAILED: {what}")


def run(*command, **more):
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True, **more)
    check(done.returncode == 0, f"exit {done.returncode} of {' '.join(map(str, command))}\n{done.stdout}{done.stderr}")
    return done.stdout


def declared():
    """Names of functions and data that the public headers declare."""
    text = "".join(p.read_text() for p in (source / "include").rglob("*.h"))
    return set(re.findall(r"SM_API\b[^;({]*?\b(sm_\w+)\s*[\[(;]", text))


def check_symbols(library):
    shown = {line.split()[-1].split("@")[0] for line in run("nm", "-D", "--defined-only", library).splitlines()}
    public = declared()
    check(shown <= public, f"symbols that no public header declares: {sorted(shown - public)[:8]}")
    check(public <= shown, f"declared but not in the library: {sorted(public - shown)[:8]}")
    check(len(public) > 50, "the headers could be read")


def check_pages(share):
    commands = [p.stem for p in (source / "src/cli/commands").glob("*.c")]
    check(len(commands) > 8, "there are commands")
    for command in commands:
        check((share / f"man/man1/slowmatch-{command}.1.gz").is_file(), f"a page for {command}")
    if shutil.which("mandoc"):
        for page in sorted((share / "man/man1").glob("*.1.gz")):
            words = subprocess.run(["mandoc", "-Tlint", "-Wwarning", page], capture_output=True, text=True).stdout
            check(words.strip() == "", f"mandoc -Tlint: {words}")
    for shell, file in (("bash", "bash-completion/completions/slowmatch"), ("zsh", "zsh/vendor-completions/_slowmatch"),
                        ("fish", "fish/vendor_completions.d/slowmatch.fish")):
        check((share / file).is_file(), f"completion for {shell}")
        if shutil.which(shell):
            run(shell, "-n", share / file)


def check_embedding(prefix, folder, total):
    pkgconfig = next(prefix.rglob("slowmatch.pc")).parent
    lib = next(prefix.rglob("libslowmatch.so.0")).parent
    motor = source / "examples/sandpiper-end-burner.json"
    env = dict(os.environ, PKG_CONFIG_PATH=str(pkgconfig), LD_LIBRARY_PATH=str(lib))
    flags = run("pkg-config", "--cflags", "--libs", "slowmatch", env=env).split()
    run(compiler, "-std=c17", "-Wall", "-Werror", source / "examples/embed/embed.c", *flags, "-o", folder / "embed", env=env)
    words = run(folder / "embed", motor, env=env)
    check(f"{total:.6g} N s" in words and " 10 s " in words, f"embed.c: {words}")
    words = run("/usr/bin/python3", source / "examples/embed/embed.py", motor, lib / "libslowmatch.so.0", env=env)
    check(f"{total:.6g} N s" in words, f"embed.py: {words}")
    (folder / "CMakeLists.txt").write_text(
        "cmake_minimum_required(VERSION 3.25)\nproject(embed C)\nset(CMAKE_C_STANDARD 17)\nfind_package(slowmatch 0.1 REQUIRED)\n"
        + "".join(f"add_executable({kind} {source}/examples/embed/embed.c)\ntarget_link_libraries({kind} PRIVATE slowmatch::{kind})\n"
                  for kind in ("slowmatch", "shared")))
    run("cmake", "-S", folder, "-B", folder / "b", "-G", "Ninja", f"-DCMAKE_PREFIX_PATH={prefix}", f"-DCMAKE_C_COMPILER={compiler}")
    run("cmake", "--build", folder / "b")
    for kind in ("slowmatch", "shared"):
        check(f"{total:.6g} N s" in run(folder / "b" / kind, motor, env=env), f"find_package, {kind}")


with tempfile.TemporaryDirectory() as name:
    folder = Path(name)
    run("cmake", "--install", build, "--prefix", folder / "first")
    prefix = folder / "elsewhere"
    (folder / "first").rename(prefix)
    program = prefix / "bin/slowmatch"
    bare = {"PATH": "/usr/bin:/bin", "HOME": "/nowhere"}
    answer = json.loads(run(program, "burn", prefix / "share/slowmatch/examples/sandpiper-end-burner.json", "--json", env=bare,
                            cwd="/"))
    total = answer["summary"]["thrust"]["total_impulse"]
    check(abs(total / 174.9 - 1) < 1e-3, "the moved command finds its propellants")
    words = run("slowmatch", "propellants", env=dict(bare, PATH=f"{prefix}/bin:/usr/bin:/bin"), cwd="/")
    check("demo-slow-composite" in words, "found by PATH, too")
    check_symbols(next(prefix.rglob("libslowmatch.so.0")))
    check_pages(prefix / "share")
    check_embedding(prefix, folder, total)
print(f"{checks - failed} passed, {failed} failed")
sys.exit(failed != 0)
