"""Connects with the heartbeats of libzmq on, and prints how often it was disconnected within a second of silence.

usage: heartbeats.py SHELL IOPUB KEY
"""
import hashlib, hmac, sys, time
import zmq
from zmq.utils.monitor import recv_monitor_message

shell_address, iopub_address, key = sys.argv[1:]
context = zmq.Context()


def connect(kind, address):
    s = context.socket(kind)
    s.linger = 0
    s.rcvtimeo = 10000
    s.heartbeat_ivl, s.heartbeat_timeout, s.heartbeat_ttl = 50, 300, 300
    monitor = s.get_monitor_socket()
    s.connect(address)
    return s, monitor


def ask(number):
    parts = [b'{"msg_id":"%d","session":"s","msg_type":"x_request"}' % number, b"{}", b"{}", b"{}"]
    mac = hmac.new(key.encode(), b"".join(parts), hashlib.sha256).hexdigest().encode()
    shell.send_multipart([b"<IDS|MSG>", mac] + parts)
    reply = shell.recv_multipart()
    assert b'"msg_id":"%d"' % number in reply[3], reply


shell, shell_events = connect(zmq.DEALER, shell_address)
iopub, iopub_events = connect(zmq.SUB, iopub_address)
iopub.subscribe(b"")
ask(1)
time.sleep(1)
lost = 0
for events in shell_events, iopub_events:
    while events.poll(0):
        lost += recv_monitor_message(events)["event"] == zmq.EVENT_DISCONNECTED
ask(2)
while b'"msg_id":"2"' not in iopub.recv_multipart()[4]:
    pass
print(lost, "disconnected")
context.destroy(0)
