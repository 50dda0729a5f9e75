package transport

import (
	"strings"
	"testing"

	"wedgework/kernel/wire"
)

// A subscription is greeted once for each topic, with the topic before the message and no parent, as the messaging
// protocol 5.5 has it; nothing else comes before it.
func TestWelcome(t *testing.T) {
	author := wire.NewAuthor("kernel")
	s, _ := open(t, onTCP(), Options{Welcome: author.Welcome})
	must(t, s.Publish(&wire.Message{Header: wire.Header{ID: "early", Type: "status"}}))
	r := connect(t, s, IOPub, "")
	for _, topic := range []string{"status", "", ""} {
		must(t, r.send([]byte("\x01"+topic)))
	}
	must(t, r.command([]byte("\x04PING\x00\x00")))
	var all []string
	for range 3 {
		frames, err := r.recv()
		if err != nil {
			t.Fatal(err)
		}
		text := ""
		for _, f := range frames {
			text += "|" + string(f)
		}
		all = append(all, text)
	}
	for i, want := range []string{`{"subscription":"status"}`, "early", `{"subscription":""}`} {
		if !strings.Contains(all[i], want) {
			t.Errorf("message %d is %s, want one with %s", i+1, all[i], want)
		}
	}
	if !strings.HasPrefix(all[0], "|status|<IDS|MSG>|") || !strings.HasPrefix(all[2], "||<IDS|MSG>|") ||
		!strings.Contains(all[0], `|{}|{}|{"subscription"`) {
		t.Errorf("the greetings are %s and %s", all[0], all[2])
	}
}
