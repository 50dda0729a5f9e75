package vocab

import (
	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// fields makes the card of a value from its rows.
func fields(caption string, rows ...document.Field) document.Fields {
	return document.Fields{Caption: caption, Rows: rows}
}

func rowsOf(pairs [][2]string) []document.Field {
	rows := make([]document.Field, len(pairs))
	for i, p := range pairs {
		rows[i] = document.Field{Name: p[0], Value: p[1]}
	}
	return rows
}

func row(name string, q quantity.Quantity) document.Field {
	return document.Field{Name: name, Value: sensible(q)}
}

func cautions(texts []string) []document.Block {
	var b []document.Block
	for _, t := range texts {
		b = append(b, document.Caution{Text: t})
	}
	return b
}
