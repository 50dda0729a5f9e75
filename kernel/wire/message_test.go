package wire

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

func epoch() time.Time {
	return time.Date(2026, 3, 1, 10, 30, 0, 123456789, time.FixedZone("", 3600))
}

func author() *Author {
	return &Author{Session: "s", User: "kernel", Now: epoch, NewID: Counted("m-")}
}

func TestAuthor(t *testing.T) {
	request := &Message{
		Identities: [][]byte{[]byte("peer"), []byte("proxy")},
		Header:     Header{ID: "r", Type: "execute_request", raw: json.RawMessage(`{"msg_id": "r", "extra": 1}`)},
	}
	a := author()
	reply, err := a.Reply(request, "execute_reply", map[string]any{"status": "ok"})
	if err != nil {
		t.Fatal(err)
	}
	status, err := a.Publication(request, "status", map[string]any{"execution_state": "idle"})
	if err != nil {
		t.Fatal(err)
	}
	start, err := a.Publication(nil, "status", map[string]any{"execution_state": "starting"})
	if err != nil {
		t.Fatal(err)
	}
	const head = `{"msg_id":"m-%d","session":"s","username":"kernel","date":"2026-03-01T09:30:00.123456Z","msg_type":"%s","version":"5.5"}`
	for _, tt := range []struct {
		m    *Message
		want string
	}{
		{reply, `peer proxy <IDS|MSG>  ` + fmt.Sprintf(head, 1, "execute_reply") +
			` {"msg_id": "r", "extra": 1} {} {"status":"ok"}`},
		{status, `status <IDS|MSG>  ` + fmt.Sprintf(head, 2, "status") +
			` {"msg_id": "r", "extra": 1} {} {"execution_state":"idle"}`},
		{start, `status <IDS|MSG>  ` + fmt.Sprintf(head, 3, "status") + ` {} {} {"execution_state":"starting"}`},
	} {
		frames, err := codec(t, "").Encode(tt.m)
		if err != nil {
			t.Fatal(err)
		}
		var parts []string
		for _, f := range frames {
			parts = append(parts, string(f))
		}
		if got := strings.Join(parts, " "); got != tt.want {
			t.Errorf("got\n%s\nwant\n%s", got, tt.want)
		}
	}
}

func TestNewAuthor(t *testing.T) {
	a, b := NewAuthor("u"), NewAuthor("u")
	if a.Session == b.Session || len(a.Session) != 36 || a.Session[14] != '4' {
		t.Errorf("sessions %q and %q, want two UUIDs of version 4", a.Session, b.Session)
	}
	if x, y := a.NewID(), a.NewID(); x == y || !strings.HasPrefix(x, a.Session) {
		t.Errorf("ids %q and %q, want two of session %s", x, y, a.Session)
	}
}

func TestJSON(t *testing.T) {
	type named struct {
		A string `json:"a"`
	}
	one := 1.5
	nan := math.NaN()
	for _, tt := range []struct {
		name string
		v    any
		want string
	}{
		{"markup stays short", map[string]any{"text/html": "<b>&amp;</b>"}, `{"text/html":"<b>&amp;</b>"}`},
		{"not UTF-8", map[string]any{"a": "\xff"}, `{"a":"\ufffd"}`},
		{"not a number", map[string]any{"a": nan, "b": math.Inf(1), "c": math.Inf(-1), "d": 1.0},
			`{"a":null,"b":null,"c":null,"d":1}`},
		{"in lists", map[string]any{"a": []float64{1, nan}, "b": []any{nan, "x", nil}, "c": [2]float32{float32(nan),
			2}}, `{"a":[1,null],"b":[null,"x",null],"c":[null,2]}`},
		{"in pointers", map[string]any{"a": &nan, "b": &one, "c": (*float64)(nil)}, `{"a":null,"b":1.5,"c":null}`},
		{"beside others", map[string]any{"a": nan, "b": named{"x"}, "c": []byte{1, 2}, "d": map[int]int{1: 2},
			"e": json.Number("123456789012345678901")},
			`{"a":null,"b":{"a":"x"},"c":"AQI=","d":{"1":2},"e":123456789012345678901}`},
		{"nil map", map[string]any{"a": nan, "b": map[string]any(nil), "c": []any(nil)},
			`{"a":null,"b":null,"c":null}`},
		{"keys of a type of their own", map[Reason]any{"a": nan}, `{"a":null}`},
	} {
		got, err := JSON(tt.v)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
		}
		if string(got) != tt.want {
			t.Errorf("%s: got %s, want %s", tt.name, got, tt.want)
		}
	}
	for _, v := range []any{struct{ A float64 }{nan}, map[string]any{"a": func() {}}} {
		if got, err := JSON(v); err == nil {
			t.Errorf("%T gave %s, want an error", v, got)
		}
	}
	if _, err := author().Publication(nil, "stream", func() {}); err == nil || !strings.HasPrefix(err.Error(),
		"stream: content: ") {
		t.Errorf("error %v, want one that names the message type", err)
	}
}

func TestRead(t *testing.T) {
	type content struct {
		Code   string `json:"code"`
		Silent bool   `json:"silent"`
		Data   any    `json:"data"`
	}
	for _, tt := range []struct{ content, want, err string }{
		{`{"code":"1","silent":true,"data":12345678901234567890}`, `{1 true 12345678901234567890}`, ""},
		{``, `{ false <nil>}`, ""},
		{`{"code":1}`, "", "execute_request: content: code is a JSON number, want string"},
		{`{"code":`, "", "execute_request: content: unexpected EOF"},
		{`{}{}`, "", "execute_request: content: more than one JSON value"},
	} {
		m := &Message{Header: Header{Type: "execute_request"}}
		if tt.content != "" {
			m.Content = json.RawMessage(tt.content)
		}
		var c content
		err := m.Read(&c)
		if tt.err != "" {
			if got := fmt.Sprint(err); got != tt.err {
				t.Errorf("%s: error %q, want %q", tt.content, got, tt.err)
			}
		} else if got := fmt.Sprint(c); err != nil || got != tt.want {
			t.Errorf("%s: got %s and %v, want %s", tt.content, got, err, tt.want)
		}
	}
}
