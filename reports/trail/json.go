package trail

import (
	"encoding/json"
	"io"
	"strings"

	"trusstally/sql/warehouse"
)

// WriteJSON writes a Week or a Job as one object: numbers as exact decimals, dates ISO,
// blanks null.
func WriteJSON(out io.Writer, tree any) error {
	encoder := json.NewEncoder(out)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(tree)
}

// detail is what else a SELECT says of a part, in the order of its columns.
type detail []field

type field struct {
	name string
	cell any
	kind string
}

// partColumns are the columns that every SELECT of parts has, and Part has by name.
var partColumns = map[string]bool{"class": true, "original_on": true, "occurred_on": true, "feed": true, "import_id": true, "line": true, "remake": true, "usd": true,
	"what": true, "priced_as": true, "priced_import_id": true, "priced_line": true}

func detailOf(r record) detail {
	var d detail
	for i, column := range r.columns {
		if !partColumns[column.Name] && r.cells[i] != nil {
			d = append(d, field{column.Name, r.cells[i], column.Type})
		}
	}
	return d
}

// isNumber says whether a cell is printed without quotes.
func (f field) isNumber() bool {
	_, number := f.cell.(warehouse.Number)
	return number
}

// MarshalJSON writes an object with the fields in their order.
func (d detail) MarshalJSON() ([]byte, error) {
	var out strings.Builder
	out.WriteString("{")
	for i, f := range d {
		if i > 0 {
			out.WriteString(",")
		}
		name, err := json.Marshal(f.name)
		if err != nil {
			return nil, err
		}
		value := []byte(cellText(f.cell, f.kind))
		if !f.isNumber() {
			if value, err = json.Marshal(string(value)); err != nil {
				return nil, err
			}
		}
		out.Write(name)
		out.WriteString(":")
		out.Write(value)
	}
	out.WriteString("}")
	return []byte(out.String()), nil
}
