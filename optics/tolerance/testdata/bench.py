"""Trials by this program and by numpy, in turn, in one run: medians of the rounds.

    python3 optics/tolerance/testdata/bench.py [ROUNDS]      from the top of the project; needs go and numpy

Ours: BenchmarkStudy, six times 100,000 units, drawn, evaluated both ways and counted, on all processors. numpy:
numpy_trials.py beside this file, three times 200,000 units of one uncoated stage, held: by one process, and by two at once.
CPU is processor time of all processes a unit: what does not depend on who else uses the machine.
"""
import os, re, resource, statistics, subprocess, sys, tempfile

ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 3
HERE = os.path.dirname(os.path.abspath(__file__))


def with_numpy():
    """The Python that has numpy: this one, or the system's."""
    for python in (sys.executable, "/usr/bin/python3"):
        if os.path.exists(python) and subprocess.run([python, "-c", "import numpy"], capture_output=True).returncode == 0:
            return python
    sys.exit("no Python with numpy: neither %s nor /usr/bin/python3 can import it" % sys.executable)


NUMPY = [with_numpy(), os.path.join(HERE, "numpy_trials.py"), "2e5"]


def cpu():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def numpy(processes):
    """Units a second, and processor time a unit: three runs of 200,000 each, the start of the process included."""
    before = cpu()
    running = [subprocess.Popen(NUMPY, stdout=subprocess.PIPE, text=True) for _ in range(processes)]
    rates = [float(re.search(r"= (\d+) trials/s", p.communicate()[0]).group(1)) for p in running]
    return sum(rates), (cpu() - before) / (processes * 3 * 2e5)


def ours(binary, case):
    before = cpu()
    out = subprocess.run([binary, "-test.run", "xxx", "-test.bench", "^BenchmarkStudy$/^" + re.escape(case) + "$",
                          "-test.benchtime", "6x"], capture_output=True, text=True, check=True).stdout
    rate = float(re.search(r"([\d.e+]+) units/s", out).group(1))
    return rate, (cpu() - before) / (7 * 1e5)  # six and one to warm up


with tempfile.TemporaryDirectory() as folder:
    binary = os.path.join(folder, "tolerance.test")
    subprocess.run(["go", "test", "-c", "-o", binary, "./optics/tolerance"], check=True)
    listed = subprocess.run(["grep", "-oP", r'^\t\{"\K[^"]+', os.path.join(HERE, "..", "bench_test.go")],
                            capture_output=True, text=True, check=True).stdout.split("\n")
    cases = [c.replace(" ", "_") for c in listed if c]
    found = {}
    for _ in range(ROUNDS):
        for processes in (1, 2):
            found.setdefault("numpy, %d process(es)" % processes, []).append(numpy(processes))
        for case in cases:
            found.setdefault(case, []).append(ours(binary, case))
    median = {name: [statistics.median(column) for column in zip(*values)] for name, values in found.items()}
    one = median["numpy, 1 process(es)"]
    print("%-40s %12s %9s %14s %14s" % ("", "units/s", "x numpy", "CPU ns a unit", "x, by CPU time"))
    for name, (rate, spent) in median.items():
        print("%-40s %12.0f %9.1f %14.0f %14.1f" % (name.replace("_", " "), rate, rate / one[0], spent * 1e9,
                                                     one[1] / spent))
    band, alone = median["band_of_31_wavelengths"], median["one_stage,_realigned"]
    print("31 wavelengths take %.1f times one, by CPU time" % (band[1] / alone[1]))
