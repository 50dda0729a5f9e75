package record

import _ "embed"

//go:embed record.schema.json
var schema []byte

// JSONSchema returns the JSON Schema (draft 2020-12) of the records that this version writes. Its identifier is a URN:
// it names the schema and leads nowhere.
func JSONSchema() []byte { return schema }
