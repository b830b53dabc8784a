package ingest

// Template returns a CSV file for the feed with its header row and one example row.
func Template(feed Feed) []byte {
	examples := make([]string, len(feed.Columns))
	for i, c := range feed.Columns {
		examples[i] = c.Example
	}
	text := append(appendRow(nil, feed.Headers()), '\n')
	return append(appendRow(text, examples), '\n')
}
