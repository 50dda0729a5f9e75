package kernel

import (
	"wedgework/reports/notebook"
)

// output publishes one output of the cell that a request runs.
func (k *Kernel) output(r *request, o notebook.Output) {
	switch o.Type {
	case notebook.StreamOutput:
		k.publish(r, "stream", map[string]any{"name": o.Stream, "text": o.Text})
	case notebook.DisplayOutput:
		k.publish(r, "display_data", bundle(o))
	case notebook.UpdateOutput:
		k.publish(r, "update_display_data", bundle(o))
	case notebook.ClearOutput:
		k.publish(r, "clear_output", map[string]any{"wait": o.Wait})
	case notebook.ResultOutput:
		content := bundle(o)
		content["execution_count"] = o.Count
		k.publish(r, "execute_result", content)
	case notebook.ErrorOutput:
		e := o.Error
		k.publish(r, "error", map[string]any{"ename": e.Name, "evalue": e.Value, "traceback": lines(e.Traceback)})
	}
}

// bundle is the content that displays and results share. Transient is what front ends do not keep.
func bundle(o notebook.Output) map[string]any {
	meta, transient := o.Meta, map[string]any{}
	if meta == nil {
		meta = map[string]any{}
	}
	if o.DisplayID != "" {
		transient["display_id"] = o.DisplayID
	}
	return map[string]any{"data": o.Data, "metadata": meta, "transient": transient}
}
