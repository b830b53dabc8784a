package template

import (
	"bytes"
	"encoding/csv"

	"trusstally/ingest"
)

// Text returns a CSV file for the feed with its heading row and nothing else: an example in
// it would be read as a row of the plant's.
func Text(feed ingest.Feed) []byte {
	var text bytes.Buffer
	out := csv.NewWriter(&text)
	out.Write(feed.Headers()) // a buffer takes every byte
	out.Flush()
	return text.Bytes()
}
