"""The life of the kernel's process, as jupyter_client sees it; prints a line for each thing seen."""
import glob
import os
import resource
import signal
import subprocess
import sys
import time

from jupyter_client.manager import KernelManager

PATIENCE = 60


def client(km):
    kc = km.client()
    kc.start_channels()
    kc.wait_for_ready(timeout=PATIENCE)
    return kc


def outputs(kc, code):
    """What a cell shows: the status of its reply, then the texts."""
    seen = []

    def keep(m):
        c = m["content"]
        if m["msg_type"] == "stream":
            seen.append(c["name"] + ": " + c["text"])
        elif m["msg_type"] in ("execute_result", "display_data"):
            seen.append(c["data"]["text/plain"])
        elif m["msg_type"] == "error":
            seen.append(c["ename"] + ": " + c["evalue"])

    reply = kc.execute_interactive(code, output_hook=keep, timeout=PATIENCE, allow_stdin=False)
    return " | ".join([reply["content"]["status"]] + seen)


def until(what, holds):
    end = time.monotonic() + PATIENCE
    while not holds():
        if time.monotonic() > end:
            sys.exit("not within the patience of the test: " + what)
        time.sleep(0.02)


def gone(pid):
    try:
        with open(f"/proc/{pid}/stat") as f:
            return f.read().rsplit(")", 1)[1].split()[0] == "Z"
    except OSError:
        return True


def busy(kc, code):
    """Starts a cell and waits until it prints."""
    msg = kc.execute(code)
    while True:
        m = kc.get_iopub_msg(timeout=PATIENCE)
        if m["parent_header"].get("msg_id") == msg and m["msg_type"] == "stream":
            return msg


def reply(kc, msg):
    while True:
        m = kc.get_shell_msg(timeout=PATIENCE)
        if m["parent_header"].get("msg_id") == msg:
            return m["content"]


def children():
    """Which processes are ours, those that ended and were not fetched included."""
    with open(f"/proc/self/task/{os.getpid()}/children") as f:
        return [int(pid) for pid in f.read().split()]


def held(km):
    """How many processes, descriptors and files there are: our own, the kernel's, and those of its state."""
    running = os.path.join(os.environ["XDG_STATE_HOME"], "wedgework", "running")
    sockets = [p for p in glob.glob(km.ip + "-*") if km.transport == "ipc"]
    return {
        "processes": len(children()),
        "descriptors": len(os.listdir("/proc/self/fd")),
        "descriptors of the kernel": len(os.listdir(f"/proc/{km.provisioner.pid}/fd")),
        "cells noted": len(os.listdir(running)),
        "socket files": len(sockets),
    }


def restarts(transport, times):
    """Restarts a kernel again and again. Each new one answers, knows no name of the one before, and holds no more."""
    km = KernelManager(kernel_name="wedgework", transport=transport)
    km.start_kernel()
    before, pids = None, set()
    for n in range(times + 1):
        if n > 0:
            km.restart_kernel()
        pids.add(km.provisioner.pid)
        kc = client(km)
        got = [outputs(kc, "x"), outputs(kc, "x = 6*7\nx")]
        if not got[0].startswith("error | NameError") or got[1] != "ok | 42":
            sys.exit(f"restart {n}: {got}")
        kc.stop_channels()
        if n == 0:
            time.sleep(0.5)  # until the kernel has most likely noticed that the client is gone
            before = held(km)
        else:
            until(f"restart {n}: no more than {before}", lambda: all(now <= before[what] for what, now in held(km).items()))
    km.shutdown_kernel()
    if len(pids) != times + 1 or children() or not all(gone(pid) for pid in pids):
        sys.exit(f"{len(pids)} processes of {times + 1}, and {children()} are left")
    return f"{before['socket files']} socket files, {before['cells noted']} file"


ENDLESS = "print('begun')\nwhile True:\n    pass"

km = KernelManager(kernel_name="wedgework")
km.start_kernel()
kc = client(km)
print(outputs(kc, "x = 6*7\nx"))

# interrupts: the message, and the signal
msg = busy(kc, ENDLESS)
km.interrupt_kernel()
print("message:", reply(kc, msg)["ename"])
msg = busy(kc, ENDLESS)
os.kill(km.provisioner.pid, signal.SIGINT)
print("signal:", reply(kc, msg)["ename"], outputs(kc, "x"))

# a restart that a person asks for: in order, and nothing to tell
kc.stop_channels()
km.restart_kernel()
kc = client(km)
print("restarted:", outputs(kc, "1+1"))

# killed while a cell runs: the next one says which
busy(kc, "y = 1\n" + ENDLESS)
kc.stop_channels()
os.kill(km.provisioner.pid, signal.SIGKILL)
until("the kernel is gone", lambda: not km.is_alive())
km.restart_kernel(now=True)
kc = client(km)
print("after a kill:", outputs(kc, "1+1"))
print("and then:", outputs(kc, "1+1"))
kc.stop_channels()

# the end that is asked for
pid = km.provisioner.pid
km.shutdown_kernel()
print("ended:", gone(pid))

# many restarts
times = int(sys.argv[1])
print("restarts over tcp:", restarts("tcp", times))
print("restarts over ipc:", restarts("ipc", 1 + times // 10))

# SIGTERM
km = KernelManager(kernel_name="wedgework")
km.start_kernel()
kc = client(km)
kc.stop_channels()
os.kill(km.provisioner.pid, signal.SIGTERM)
until("the kernel is gone", lambda: not km.is_alive())
print("terminated: status", km.provisioner.process.poll())

# a cell that wants more memory than there may be
resource.setrlimit(resource.RLIMIT_DATA, (1 << 29, resource.RLIM_INFINITY))
km = KernelManager(kernel_name="wedgework")
km.start_kernel()
kc = client(km)
kc.execute("z = 1")
kc.execute("big = [str(i) * 4000000 for i in range(100)]")
until("the kernel is gone", lambda: not km.is_alive())
kc.stop_channels()
km.restart_kernel(now=True)
kc = client(km)
print("out of memory:", outputs(kc, "1+1"))
kc.stop_channels()
km.shutdown_kernel()

# an orphan ends by itself
orphan = """
import sys
from jupyter_client.manager import KernelManager
km = KernelManager(kernel_name="wedgework")
km.start_kernel()
kc = km.client(); kc.start_channels(); kc.wait_for_ready(timeout=60); kc.stop_channels()
print(km.provisioner.pid, flush=True)
import os
os._exit(0)
"""
pid = int(subprocess.run([sys.executable, "-c", orphan], stdout=subprocess.PIPE, check=True).stdout)
until("the orphan is gone", lambda: gone(pid))
print("orphan: gone")
