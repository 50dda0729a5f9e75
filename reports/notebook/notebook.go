package notebook

// The version that Bytes upgrades nothing from: a notebook is written back in the minor version it was
// read in.
const major = 4

// firstMinorWithIDs is the minor version from which cells carry ids.
const firstMinorWithIDs = 5

// Notebook is a document of nbformat 4.
type Notebook struct {
	Minor    int            // nbformat_minor: 0 to 5; later ones are read as 5 and keep their number
	Metadata map[string]any // as read; JSON numbers are json.Number
	Cells    []Cell
	Extra    map[string]any // top-level fields that nbformat does not define
}

// CellType is the cell_type of nbformat.
type CellType string

// The cell types of nbformat 4.
const (
	CodeCell     CellType = "code"
	MarkdownCell CellType = "markdown"
	RawCell      CellType = "raw"
)

// Cell is one cell. Outputs and Count belong to code cells, Attachments to Markdown and raw cells.
type Cell struct {
	ID          string // empty before nbformat 4.5
	Type        CellType
	Source      string
	Outputs     []Output
	Count       int // execution count; 0 for a cell that was not run
	Metadata    map[string]any
	Attachments map[string]map[string]any // file name to MIME bundle
	Extra       map[string]any            // fields that nbformat does not define
}

// Kernel returns the name of the kernel the notebook asks for, "" when it names none.
func (nb *Notebook) Kernel() string { return text(nb.Metadata, "kernelspec", "name") }

// Language returns the language the notebook says its cells are in, "" when it says nothing.
func (nb *Notebook) Language() string {
	if s := text(nb.Metadata, "kernelspec", "language"); s != "" {
		return s
	}
	return text(nb.Metadata, "language_info", "name")
}

// text returns the string at a path of nested objects, "" when there is none.
func text(m map[string]any, path ...string) string {
	for _, k := range path[:len(path)-1] {
		m, _ = m[k].(map[string]any)
	}
	s, _ := m[path[len(path)-1]].(string)
	return s
}

// Clone returns a copy whose cells and outputs can be replaced without touching the original. Metadata
// and bundles are shared: neither copy may change them in place.
func (nb *Notebook) Clone() *Notebook {
	c := *nb
	c.Cells = append([]Cell(nil), nb.Cells...)
	for i := range c.Cells {
		c.Cells[i].Outputs = append([]Output(nil), c.Cells[i].Outputs...)
	}
	return &c
}
