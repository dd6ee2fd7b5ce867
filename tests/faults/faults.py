"""What the command does when the system fails it.

    faults.py CASE PROGRAM MODULE SOURCE

CASE is the name of a function below. MODULE is failing.c, built; "" where it can't be loaded, as under sanitizers: those
parts are then skipped (exit 77 if nothing is left). SM_LONG_TESTS=1 fails every request for memory, not a sample of them.
Python's standard library only.
"""

import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

case, program, source = sys.argv[1], os.path.abspath(sys.argv[2]), os.path.abspath(sys.argv[4])
module = os.path.abspath(sys.argv[3]) if sys.argv[3] else ""
examples = os.path.join(source, "examples")
cored, bought = os.path.join(examples, "sandpiper-cored.json"), os.path.join(examples, "curlew-bought.json")
tolerant = os.path.join(examples, "curlew-tolerances.json")
drawn, hollow = os.path.join(examples, "sandpiper-drawn-port.json"), os.path.join(examples, "sandpiper-hollow.json")
template = os.path.join(examples, "templates", "two-columns.mustache")
firing, stand = (os.path.join(examples, "stand", name) for name in ("sandpiper-firing-1.csv", "bench.json"))
request, vehicle = os.path.join(examples, "requests", "sandpiper.json"), os.path.join(examples, "vehicles", "curlew.json")
ring = os.path.join(examples, "vehicles", "dunlin.json")
MOST = 1000  # requests of one command that are failed one by one, in the long run
is_long = os.environ.get("SM_LONG_TESTS") == "1"
failures = []

BURN = ["burn", bought, "--json", "--csv", "out.csv"]
BURN_GRAIN = ["burn", cored, "--json", "--csv", "out.csv"]
SPREAD = ["spread", tolerant, "--samples", "8", "--threads", "1", "--json", "--csv", "out.csv"]
EXPORTS = [("csvw", "out.csv"), ("dave-ml", "out.dml"), ("fmu", "out.fmu"), ("json", "out.json"), ("mat", "out.mat"),
           ("modelica", "out.txt"), ("c-header", "out.h")]


def export(form, name):
    return ["export", bought, "--to", form, "-o", name]


def run(arguments, folder, fault=None, before=None, seconds=60, **environment):
    env = {"LC_ALL": "C", "PATH": "/usr/bin:/bin", "NO_COLOR": "1", "HOME": folder, **environment}
    if before is as_nobody:
        env["LLVM_PROFILE_FILE"] = os.devnull  # nobody may not write what a build that counts lines keeps
    if fault:
        env.update(LD_PRELOAD=module, SM_FAULT=fault)
    done = subprocess.run([program, *arguments], cwd=folder, env=env, capture_output=True, timeout=seconds,
                          preexec_fn=before, check=False, stdin=subprocess.DEVNULL)
    return done.returncode, done.stdout, done.stderr.decode("utf-8", "replace")


def files(folder):
    found = {}
    for name in sorted(os.listdir(folder)):
        path = os.path.join(folder, name)
        if os.path.isfile(path) and not os.path.islink(path):
            with open(path, "rb") as file:
                found[name] = file.read()
    return found


def expect(is_so, what):
    if not is_so:
        failures.append(what)


def need_module():
    if not module:
        print("SKIPPED: no module can be loaded before this build")
        sys.exit(77)


# ---- memory ----

# Each reaches another library: the tree of JSON (cJSON), units (UDUNITS-2), the points and draws of a spread (GSL),
# XML (libxml2), archives (libzip), the search of a sizing (NLopt), least squares (GSL). Drawing is left out, since cairo
# ends the process itself; and so are loops on several threads, since the OpenMP runtimes do.
MEMORY = [BURN, BURN_GRAIN, ["check", cored, "--set", "conditions.ambient_pressure=90 kPa"], ["grain", drawn, "--json"], ["grain", hollow, "--json"],
          SPREAD[:2] + ["--sensitivity"] + SPREAD[2:], ["export", bought, "--to", "fmu", "-o", "out.fmu"],
          ["export", bought, "--to", "csvw", "-o", "out.csv"], ["export", bought, "--to", "template", "--template",
                                                              template, "-o", "out.txt"],
          ["burn", "thrust.dml", "--json"], ["classify", "thrust.csv", "--json"],
          ["firing", firing, "--stand", stand, "--json"],
          ["fit", cored, firing, "--stand", stand, "--vary", "rate,cstar", "--json"],
          ["size", request, "--restarts", "1", "--seed", "3", "--output", "out.json", "--json"],
          ["lift", vehicle, "--csv", "out.csv", "--json"],
          ["lift", ring, "--needs", "out.json", "--hover-height", "6 m", "--hover-time", "6 s", "--json"]]

# The last words of what ends the process itself when memory is out: the OpenMP runtimes. UDUNITS-2's scanner and its
# reading of data do too, and are spared by failing.c.
ABORTING = ("libgomp: ", "OMP: ")


def setting(folder):
    """Curves to be read by the commands that take one."""
    for form, name in (("dave-ml", "thrust.dml"), ("csvw", "thrust.csv")):
        subprocess.run([program, *export(form, name)], cwd=folder, check=True, capture_output=True)


def memory():
    """The n-th malloc of the whole process fails, that of every library too; and that one with all behind it. A clear
    end in one line with nothing left behind, or the very answer that there is without."""
    need_module()
    with tempfile.TemporaryDirectory() as place, ThreadPoolExecutor(2) as pool:
        setting(place)
        jobs = [job for jobs in pool.map(lambda command: starve(place, command), MEMORY) for job in jobs]
        list(pool.map(lambda job: without_memory(place, *job), jobs))
    print(f"{len(jobs)} starved runs")


def starve(place, command):
    """One run that counts its requests; then what is to be tried, (command, fault, expected output and files) each."""
    with tempfile.TemporaryDirectory() as folder:
        count = os.path.join(folder, "count")
        shutil.copytree(place, folder, dirs_exist_ok=True)
        code, out, err = run(command, folder, "malloc:0", SM_FAULT_COUNT=count)
        with open(count) as file:
            n = int(file.read())
        os.remove(count)
        expect(code == 0, f"{command}: {err}")
        made = files(folder)
    few = 2
    tried = range(1, n + 1) if n <= MOST and is_long else sorted({1 + (i * n + n // 3) // few for i in range(few)})
    if is_long and n > MOST:
        tried = sorted({*range(1, MOST // 2), *range(1, n + 1, 2 * n // MOST)})
    print(f"{command[0]} {' '.join(command[2:])}: {n} requests, {len(tried)} failed one at a time")
    return [(command, way.format(i), out, made) for i in tried if i <= n for way in ("malloc:{}", "malloc+:{}")]


def without_memory(place, command, fault, stdout, made):
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(place, folder, dirs_exist_ok=True)
        code, out, err = run(command, folder, fault)
        left = files(folder)
    if any(word in err for word in ABORTING):
        return
    what = f"{command[0]} {' '.join(command[2:])}, {fault}: exit {code}, {err[-300:]!r}"
    if code == 0:
        expect(out == stdout and left == made, "differs silently: " + what)
    else:
        expect(code == 1 and any("memory" in line for line in err.splitlines()), what)
        expect(len([line for line in err.splitlines() if "error: " in line]) == 1, "not one line: " + what)
        expect(all(made.get(name) == data for name, data in left.items()), f"leaves {sorted(left)}: " + what)


# ---- disks ----

def limit_files(n, deadly):
    def before():
        resource.setrlimit(resource.RLIMIT_FSIZE, (n, n))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        signal.signal(signal.SIGXFSZ, signal.SIG_DFL if deadly else signal.SIG_IGN)
    return before


def full_disk():
    """A file may grow to k bytes only; the write across that is cut short, the next one fails, or the process dies of it."""
    for command in [BURN[:2] + BURN[3:]] + [export(*pair) for pair in EXPORTS]:
        with tempfile.TemporaryDirectory() as folder:
            run(command, folder)
            made = files(folder)
        for name, data in made.items():
            for k in sorted({0, 1, 100, 4096, len(data) // 2, len(data) - 1}):
                for deadly in (False, True):
                    with tempfile.TemporaryDirectory() as folder:
                        with open(os.path.join(folder, name), "wb") as file:
                            file.write(b"an older one")
                        code, _, err = run(command, folder, before=limit_files(k, deadly))
                        left = files(folder)
                    what = f"{command[0]} {name}, {k} bytes, deadly {deadly}: exit {code} {err[-200:]!r}, left {sorted(left)}"
                    if k >= max(map(len, made.values())):
                        continue
                    expect(code == (-signal.SIGXFSZ if deadly else 1) or deadly and code == 1, what)
                    kept = left.pop(name, None)
                    expect(kept in (b"an older one", data), "a broken file under its name: " + what)
                    if not deadly:
                        expect("error" in err and not any(".part" in other for other in left), what)
    full_device()


def full_device():
    with tempfile.TemporaryDirectory() as folder:
        code, _, err = run(["burn", cored, "--csv", "/dev/full"], folder)
        expect(code == 1 and "No space left" in err, f"/dev/full: exit {code} {err!r}")
    tmpfs = ("mount -t tmpfs -o size=16k none {0} && cd {0} && printf old > out.csv && "
             "{1} burn {2} --csv out.csv; echo $?; ls; cat out.csv")
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(["unshare", "-rm", "sh", "-c", tmpfs.format(folder, program, cored)], capture_output=True,
                              text=True, check=False)
        if "mount:" in done.stderr or "unshare:" in done.stderr:
            print("a small file system can't be mounted here; left out")
        else:
            expect(done.stdout.endswith("1\nout.csv\nold") and "No space left" in done.stderr,
                   f"small disk: {done.stdout[-200:]!r} {done.stderr!r}")


def failing_calls():
    """fsync, rename and fopen fail; the process is killed at them. Never a broken file under its name."""
    need_module()
    for command, name in [(BURN[:2] + BURN[3:], "out.csv")] + [(export(*pair), pair[1]) for pair in EXPORTS]:
        for fault in ("error:fsync:1", "error:rename:1", "kill:fsync:1", "kill:rename:1", "kill:rename:2", "error:fopen:1"):
            with tempfile.TemporaryDirectory() as folder:
                run(command, folder)
                good = files(folder)[name]
                for old in os.listdir(folder):
                    os.remove(os.path.join(folder, old))
                with open(os.path.join(folder, name), "wb") as file:
                    file.write(b"an older one")
                code, _, err = run(command, folder, fault)
                left = files(folder)
            what = f"{command[0]} {name}, {fault}: exit {code} {err[-200:]!r}, left {sorted(left)}"
            expect(left.get(name) in (b"an older one", good), "broken: " + what)
            if fault.startswith("error"):
                expect(code in (0, 1, 2) and not any(".part" in other for other in left), what)
                if "rename" in fault or "fsync" in fault:
                    expect(code == 1 and left[name] == b"an older one" and "Input/output error" in err, what)


def closed_pipe():
    for command in (BURN, ["spread", tolerant, "--samples", "4", "--json"], ["export", bought, "--to", "json", "-o", "-"],
                    ["help"], ["propellants"], ["schema", "slowmatch-motor"]):
        with tempfile.TemporaryDirectory() as folder:
            reader, writer = os.pipe()
            os.close(reader)
            done = subprocess.run([program, *command], cwd=folder, stdout=writer, stderr=subprocess.PIPE, check=False)
            os.close(writer)
            expect(done.returncode in (1, 2), f"{command}: exit {done.returncode}")


# ---- places ----

def as_nobody():
    if os.getuid() == 0:
        os.setgid(65534)
        os.setuid(65534)


def nobody_may_run():
    """False where the program or its examples lie in a folder that is closed to others, as root's home is."""
    can = lambda what, path: subprocess.run(["test", what, path], preexec_fn=as_nobody, check=False).returncode == 0
    return can("-x", program) and can("-r", cored)


def unwritable():
    """A folder that can't be written, a file that may not be replaced, a home that is not there."""
    if not nobody_may_run():
        print("nobody but their owner may run what was built here")
        sys.exit(77)
    with tempfile.TemporaryDirectory() as folder:
        inside = os.path.join(folder, "locked")
        os.mkdir(inside)
        os.chmod(folder, 0o755)
        os.chmod(inside, 0o555)
        code, _, err = run(["burn", bought, "--csv", "locked/t.csv"], folder, before=as_nobody)
        expect(code == 1 and "Permission denied" in err and not os.listdir(inside), f"folder: exit {code} {err!r}")
        os.chmod(inside, 0o777)
        with open(os.path.join(inside, "t.csv"), "w") as file:
            file.write("old")
        os.chmod(os.path.join(inside, "t.csv"), 0o444)
        code, _, err = run(["burn", bought, "--csv", "locked/t.csv"], folder, before=as_nobody)
        expect(code == 1 and files(inside)["t.csv"] == b"old", f"read-only file: exit {code} {err!r}")
        os.chmod(inside, 0o555)
        for home in (inside, "/nonexistent", ""):
            code, out, err = run(["burn", cored, "--json"], inside, before=as_nobody, HOME=home, XDG_CACHE_HOME=home)
            expect(code == 0 and out.startswith(b"{") and not err, f"home {home!r}: exit {code} {err!r}")
        os.chmod(inside, 0o777)


def links():
    """Written through a link, to a new file too; a link that leads round in circles is refused, and stays."""
    with tempfile.TemporaryDirectory() as folder:
        at = lambda name: os.path.join(folder, name)
        os.mkdir(at("far"))
        os.symlink("far/new.csv", at("dangling.csv"))
        os.symlink("two.csv", at("one.csv"))
        os.symlink("one.csv", at("two.csv"))
        os.symlink("far", at("folder.csv"))
        code, _, err = run(["burn", bought, "--csv", "dangling.csv"], folder)
        expect(code == 0 and os.path.islink(at("dangling.csv")) and "new.csv" in files(at("far")),
               f"dangling: exit {code} {err!r}, {os.listdir(at('far'))}")
        for name, words in (("one.csv", "symbolic links"), ("folder.csv", "directory")):
            code, _, err = run(["burn", bought, "--csv", name], folder)
            expect(code == 1 and words in err and os.path.islink(at(name)), f"{name}: exit {code} {err!r}")


def together():
    """Many runs write the same names in one folder: each name ends whole."""
    with tempfile.TemporaryDirectory() as folder:
        command = ["burn", bought, "--csv", "out.csv", "--json"]
        with ThreadPoolExecutor(8) as pool:
            done = list(pool.map(lambda _: run(command, folder), range(24)))
        expect(all(one == done[0] and one[0] == 0 for one in done), f"{sorted({one[0] for one in done})}")
        left = files(folder)
        alone = tempfile.mkdtemp()
        run(command, alone)
        expect(left == files(alone), f"left {sorted(left)}")
        shutil.rmtree(alone)


# ---- what should make no difference ----

def surroundings():
    """Clock jumps and a locale with a decimal comma change no byte."""
    need_module()
    with tempfile.TemporaryDirectory() as place:
        source_file = os.path.join(place, "source")
        with open(source_file, "w") as file:
            file.write('comment_char %\nescape_char /\nLC_NUMERIC\ndecimal_point ","\nthousands_sep "."\ngrouping 3;3\n'
                       "END LC_NUMERIC\n" + "".join(f'LC_{name}\ncopy "POSIX"\nEND LC_{name}\n' for name in
                                                    ("CTYPE", "COLLATE", "MONETARY", "TIME", "MESSAGES")))
        subprocess.run(["localedef", "-c", "-f", "ANSI_X3.4-1968", "-i", source_file, os.path.join(place, "comma")],
                       capture_output=True, check=False)
        # Only something that is loaded with the program can put it under a locale: it does not take one up itself. What
        # it prints for people then follows that, but no file and no JSON does.
        faults = [("clock", {}), (None, {"LC_ALL": "comma", "LOCPATH": place})]
        if os.path.isdir(os.path.join(place, "comma")):
            faults.append(("locale", {"LC_ALL": "comma", "LOCPATH": place}))
        for command in [BURN, BURN_GRAIN, SPREAD, ["burn", cored, "--plot", "p.svg"]] + [export(*pair) for pair in EXPORTS]:
            with tempfile.TemporaryDirectory() as folder:
                good = run(command, folder)[:2], files(folder)
            for fault, environment in faults:
                with tempfile.TemporaryDirectory() as folder:
                    other = run(command, folder, fault, **environment)[:2], files(folder)
                is_same = other == good if fault != "locale" or "--json" in command else other[1] == good[1]
                expect(is_same and other[0][0] == 0, f"{fault} changes {command}")
        print("under:", *(fault or "LC_ALL" for fault, _ in faults))


def long_name():
    """A name of ten megabytes is refused in a line; so is a file longer than what is read."""
    with open(bought) as file:
        text = file.read()
    for size in (10_000_000, 20_000_000):
        with tempfile.TemporaryDirectory() as folder:
            with open(os.path.join(folder, "m.json"), "w") as file:
                file.write(text.replace("Curlew", "C" * size, 1))
            code, out, err = run(["burn", "m.json", "--csv", "t.csv"], folder)
            expect(code == 2 and not out and len(err) < 2000 and "error" in err and len(os.listdir(folder)) == 1,
                   f"{size}: exit {code} {err[:300]!r}")


globals()[case]()
for line in failures[:20]:
    print(line)
print(f"{len(failures)} failures")
sys.exit(1 if failures else 0)
