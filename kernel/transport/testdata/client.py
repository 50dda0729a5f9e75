"""Does with the client library what a front end does at its start, and prints each step that works.

usage: client.py CONNECTION_FILE
"""
import sys
from jupyter_client import BlockingKernelClient

c = BlockingKernelClient()
c.load_connection_file(sys.argv[1])
# shell before iopub, as happens when their attempts to connect fall so
c.start_channels(shell=True, iopub=False, stdin=True, hb=True, control=False)
asked = c.kernel_info()
reply = c.get_shell_msg(timeout=20)
assert reply["parent_header"]["msg_id"] == asked, reply
print("replied", flush=True)
c.start_channels(shell=False, iopub=True, stdin=False, hb=False, control=True)
for state in "busy", "idle":
    m = c.get_iopub_msg(timeout=20)
    assert m["parent_header"]["msg_id"] == asked and m["content"]["execution_state"] == state, m
print("published", flush=True)
c.wait_for_ready(timeout=30)
print("ready", flush=True)
c.execute("input")
m = c.get_stdin_msg(timeout=20)
assert m["msg_type"] == "input_request", m
c.input("5 mm")
print("asked", flush=True)
while True:
    m = c.get_shell_msg(timeout=20)
    if m["msg_type"] == "execute_reply":
        break
assert m["content"]["value"] == "5 mm", m
print("answered", flush=True)
c.shutdown()
while c.get_iopub_msg(timeout=20)["msg_type"] != "last":
    pass
print("last", flush=True)
c.stop_channels()
