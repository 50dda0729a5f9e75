package kerneltest

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"wedgework/kernel/wire"
)

// shapes says what fields the content of each message has, and of which JSON type: the messaging protocol 5.5,
// https://jupyter-client.readthedocs.io/en/stable/messaging.html. A field after "?" may be missing.
var shapes = map[string]string{
	"status":              "execution_state string",
	"execute_input":       "code string, execution_count number",
	"stream":              "name string, text string",
	"display_data":        "data object, metadata object, ?transient object",
	"update_display_data": "data object, metadata object, transient object",
	"execute_result":      "data object, metadata object, execution_count number, ?transient object",
	"clear_output":        "wait boolean",
	"iopub_welcome":       "subscription string",
	"error":               "ename string, evalue string, traceback list",
	"comm_open":           "comm_id string, target_name string, data object",
	"comm_msg":            "comm_id string, data object",
	"comm_close":          "comm_id string, data object",

	"kernel_info_reply": "status string, protocol_version string, implementation string, implementation_version " +
		"string, language_info object, banner string, ?debugger boolean, ?help_links list, supported_features list",
	"execute_reply":     "status string, execution_count number, payload list, user_expressions object",
	"complete_reply":    "status string, matches list, cursor_start number, cursor_end number, metadata object",
	"inspect_reply":     "status string, found boolean, data object, metadata object",
	"is_complete_reply": "status string, ?indent string",
	"history_reply":     "status string, history list",
	"comm_info_reply":   "status string, comms object",
	"interrupt_reply":   "status string",
	"shutdown_reply":    "status string, restart boolean",

	"create_subshell_reply": "status string, subshell_id string",
	"delete_subshell_reply": "status string",
	"list_subshell_reply":   "status string, subshell_id list",
}

// failed is the shape of a reply with status error. A cell that ran has a count besides.
const failed = "status string, ename string, evalue string, traceback list, ?execution_count number, ?payload list, " +
	"?user_expressions object"

// values says which texts a field may hold.
var values = map[string][]string{
	"status.execution_state":   {"starting", "busy", "idle"},
	"stream.name":              {"stdout", "stderr"},
	"is_complete_reply.status": {"complete", "incomplete", "invalid", "unknown"},
}

// Shape reports what is wrong with the header or the content of a message, if anything. A field that the protocol does
// not name is wrong too.
func Shape(m *wire.Message) error {
	h := m.Header
	for name, v := range map[string]string{"msg_id": h.ID, "session": h.Session, "username": h.User, "date": h.Date,
		"msg_type": h.Type} {
		if v == "" {
			return fmt.Errorf("%s: header: %s is missing", h.Type, name)
		}
	}
	if h.Version != wire.Version {
		return fmt.Errorf("%s: header: version %q, want %q", h.Type, h.Version, wire.Version)
	}
	var content map[string]any
	if err := m.Read(&content); err != nil {
		return err
	}
	shape, known := shapes[h.Type]
	if !known {
		return fmt.Errorf("%s is no message of a kernel", h.Type)
	}
	if content["status"] == "error" && strings.HasSuffix(h.Type, "_reply") {
		shape = failed
	}
	for field := range strings.SplitSeq(shape, ", ") {
		name, want, _ := strings.Cut(field, " ")
		name, optional := strings.CutPrefix(name, "?")
		v, there := content[name]
		delete(content, name)
		if !there && optional {
			continue
		}
		if got := kind(v); got != want {
			return fmt.Errorf("%s: %s is %s, want %s", h.Type, name, got, want)
		}
		if allowed := values[h.Type+"."+name]; allowed != nil && !slices.Contains(allowed, v.(string)) {
			return fmt.Errorf("%s: %s is %q, want one of %q", h.Type, name, v, allowed)
		}
		if name == "data" && !strings.HasPrefix(h.Type, "comm_") {
			if err := bundle(h.Type, v.(map[string]any)); err != nil {
				return err
			}
		}
	}
	if len(content) > 0 {
		return fmt.Errorf("%s: fields that the protocol does not name: %q", h.Type, slices.Sorted(maps.Keys(content)))
	}
	return nil
}

// bundle checks data by MIME type: text is text, and what a person sees has a plain form. The controls of a front end
// of ipywidgets 6 have none: it would stand above them.
func bundle(msgType string, data map[string]any) error {
	for mime, v := range data {
		if !strings.Contains(mime, "/") {
			return fmt.Errorf("%s: data: %q is no MIME type", msgType, mime)
		}
		if kind(v) != "string" && !strings.HasSuffix(mime, "json") {
			return fmt.Errorf("%s: data: %s is %s, want string", msgType, mime, kind(v))
		}
	}
	_, plain := data["text/plain"]
	if _, controls := data["application/vnd.jupyter.widget-view+json"]; len(data) > 0 && !plain && !controls {
		return fmt.Errorf("%s: data has no text/plain", msgType)
	}
	return nil
}

func kind(v any) string {
	switch v.(type) {
	case nil:
		return "nothing"
	case string:
		return "string"
	case bool:
		return "boolean"
	case json.Number:
		return "number"
	case []any:
		return "list"
	case map[string]any:
		return "object"
	}
	return fmt.Sprintf("%T", v)
}
