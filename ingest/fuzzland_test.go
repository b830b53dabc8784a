package ingest

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/plant"
)

// FuzzLand takes any small file of any feed, with any mark between its cells, through the
// whole landing, three times: lines add up, the same rows once more change nothing, and what was refused, read again as it is, is
// refused again. Anything but a receipt or problems is a fault.
func FuzzLand(f *testing.F) {
	for i, feed := range Feeds() {
		f.Add(exampleFile(feed), byte(i), true)
		f.Add(bytes.ReplaceAll(exampleFile(feed), []byte("2026"), []byte("x")), byte(i), true)
	}
	f.Add([]byte("J1,100\nJ1,200\nJ2,=1\n\n,,\n\"J3\",\"1\n2\"\nJ4,1,2\n\"J5\"x,1\n"), byte(0), false)
	f.Add([]byte("J1;100\n\"J2\" ;200\n\"a \"\" b\" c \"d\" ;1\n"), byte(len(Feeds())), false)
	f.Add([]byte("reject_import,reject_line,job,price_usd\n1,2,J1,100\n1,2,,\n9223372036854775808,-1,'=J2,'-1\n"), byte(0), true)
	w := newTestWarehouse(f)
	feeds := Feeds()
	var marks []byte
	settings := map[byte]*plant.Settings{}
	for mark := range delimiterNames() {
		var sections strings.Builder
		for _, feed := range feeds {
			fmt.Fprintf(&sections, "[feed.%s]\ndelimiter = %q\n", feed.Name, string(mark))
		}
		marks, settings[mark] = append(marks, mark), settingsWith(f, sections.String())
	}
	f.Fuzz(func(t *testing.T, text []byte, pick byte, headed bool) {
		feed, mark := feeds[int(pick)%len(feeds)], marks[int(pick)/len(feeds)%len(marks)]
		if !headed { // rows of the required columns
			var names []string
			for _, c := range feed.Columns {
				if c.Required {
					names = append(names, c.Name)
				}
			}
			text = append(append(appendDelimited(nil, names, mark), '\n'), text...)
		}
		w.t, w.settings = t, settings[mark]
		w.begin()
		first, err := w.land(feed.Name+"-1.csv", string(text))
		if err != nil {
			refusedList(t, err)
			return
		}
		look := func() []string {
			return w.rows(fmt.Sprintf("SELECT * EXCLUDE (import_id, import_line) FROM %s ORDER BY ALL", quoteName(feed.Name)))
		}
		linesAddUp(t, first)
		want := look()
		if int64(len(want)) != first.New {
			t.Fatalf("%d rows, %d new", len(want), first.New)
		}
		again, err := w.land(feed.Name+"-2.csv", string(text)+"\n\n")
		if err != nil {
			refusedList(t, err)
			t.Fatalf("taken at first, then refused: %v", err)
		}
		linesAddUp(t, again)
		if again.New+again.Changed+again.Removed != 0 || again.Accepted != first.Accepted || again.Rejected != first.Rejected {
			t.Fatalf("the same rows once more: %+v, at first %+v", again, first)
		}
		if diff := cmp.Diff(want, look()); diff != "" {
			t.Fatalf("the same rows once more (-first +second):\n%s", diff)
		}
		if first.Rejected == 0 {
			return
		}
		rejected, err := w.land(feed.Name+"-1-import1.csv", string(first.RejectsCSV))
		if err != nil {
			refusedList(t, err)
			t.Fatalf("the rejects are refused whole: %v\n%s", err, first.RejectsCSV)
		}
		linesAddUp(t, rejected)
		if rejected.Rejected != first.Rejected || rejected.Accepted != 0 {
			t.Fatalf("of %d refused rows %d are taken and %d refused again\n%s", first.Rejected, rejected.Accepted, rejected.Rejected, first.RejectsCSV)
		}
		if open := w.rows("SELECT count(*) FROM refused_rows WHERE state = 'open' AND import_id <> 2"); open[0] != fmt.Sprint(rejected.Rejected) {
			t.Fatalf("%s refused rows are open, want %d", open[0], rejected.Rejected)
		}
	})
}

func linesAddUp(t *testing.T, r *Receipt) {
	t.Helper()
	if r.Lines != r.Accepted+r.Rejected+r.Blank || r.Accepted != r.New+r.Changed+r.Unchanged || (r.Rejected > 0) != (r.RejectsCSV != nil) || (r.Rejected > 0) != (len(r.Problems) > 0) {
		t.Fatalf("%+v", r)
	}
}

// exampleFile is a file of the feed with its headings and its example row.
func exampleFile(feed Feed) []byte {
	examples := make([]string, len(feed.Columns))
	for i, c := range feed.Columns {
		examples[i] = c.Example
	}
	text := append(appendDelimited(nil, feed.Headers(), ','), '\n')
	return append(appendDelimited(text, examples, ','), '\n')
}
