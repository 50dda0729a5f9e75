package transport

import (
	"encoding/binary"
	"slices"
	"strings"
)

// partners are the socket types that may connect to a channel.
var partners = [channels][]string{
	Control:   {"DEALER", "REQ", "ROUTER"},
	Stdin:     {"DEALER", "REQ", "ROUTER"},
	Shell:     {"DEALER", "REQ", "ROUTER"},
	IOPub:     {"SUB", "XSUB"},
	Heartbeat: {"REQ", "DEALER"},
}

// longestIdentity is that of ZMTP.
const longestIdentity = 255

// checkReady reads the properties of a READY command, and returns the frame of one that holds just the two
// that matter, spelt as the library expects. The library panics on a socket type it does not know, on
// a missing one, and on properties that end early.
func checkReady(properties []byte, kind Channel) ([]byte, error) {
	var socketType, identity string
	for rest := properties; len(rest) > 0; {
		n := int(rest[0])
		if n == 0 || 1+n+4 > len(rest) {
			return nil, violated("READY has a property name of %d bytes where %d are left", n, len(rest)-1)
		}
		name := string(rest[1 : 1+n])
		rest = rest[1+n:]
		length := binary.BigEndian.Uint32(rest)
		rest = rest[4:]
		if uint64(length) > uint64(len(rest)) {
			return nil, violated("READY has a property of %d bytes where %d are left", length, len(rest))
		}
		value := string(rest[:length])
		rest = rest[length:]
		switch strings.ToLower(name) {
		case "socket-type":
			socketType = value
		case "identity":
			identity = value
		}
	}
	if !slices.Contains(partners[kind], socketType) {
		return nil, violated("a %.20q socket connects to %s, want %s", socketType, kind, strings.Join(partners[kind],
			" or "))
	}
	if len(identity) > longestIdentity {
		return nil, violated("an identity of %d bytes, more than %d", len(identity), longestIdentity)
	}
	body := []byte("\x05READY")
	body = appendProperty(body, "Socket-Type", socketType)
	body = appendProperty(body, "Identity", identity)
	frame := []byte{4 | 2} // a command with a long length
	frame = binary.BigEndian.AppendUint64(frame, uint64(len(body)))
	return append(frame, body...), nil
}

func appendProperty(b []byte, name, value string) []byte {
	b = append(b, byte(len(name)))
	b = append(b, name...)
	b = binary.BigEndian.AppendUint32(b, uint32(len(value)))
	return append(b, value...)
}
