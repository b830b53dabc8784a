package template_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"trusstally/ingest"
	"trusstally/ingest/template"
)

// TestWorkbook reads every template back: headings and nothing else on the sheet that is
// imported, a note on each column, and the words of closed lists in drop-down lists.
func TestWorkbook(t *testing.T) {
	stations := []string{"S1", "T1"}
	for _, feed := range ingest.Feeds() {
		t.Run(feed.Name, func(t *testing.T) {
			text := mustWrite(t, feed, stations)
			if !bytes.Equal(text, mustWrite(t, feed, stations)) {
				t.Error("written twice it is not the same bytes")
			}
			book, err := excelize.OpenReader(bytes.NewReader(text))
			if err != nil {
				t.Fatal(err)
			}
			defer book.Close()
			if diff := cmp.Diff([]string{feed.Name, template.NotesSheet}, book.GetSheetList()); diff != "" {
				t.Errorf("sheets (-want +got):\n%s", diff)
			}
			rows, err := book.GetRows(feed.Name)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff([][]string{feed.Headers()}, rows); diff != "" {
				t.Errorf("the sheet that is imported (-want +got):\n%s", diff)
			}
			checkNotes(t, book, feed)
			checkLists(t, book, feed, stations)
		})
	}
}

func mustWrite(t *testing.T, feed ingest.Feed, stations []string) []byte {
	t.Helper()
	text, err := template.Workbook(feed, stations)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// checkNotes looks for the line of each column: name, example, unit, grammar, meaning.
func checkNotes(t *testing.T, book *excelize.File, feed ingest.Feed) {
	t.Helper()
	notes, err := book.GetRows(template.NotesSheet)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range feed.Columns {
		at := slices.IndexFunc(notes, func(row []string) bool { return len(row) > 0 && row[0] == c.Name })
		if at < 0 || len(notes[at]) != 5 {
			t.Errorf("%s has no note", c.Name)
			continue
		}
		row := notes[at]
		if row[1] != c.Example || row[2] != c.Unit() || !strings.EqualFold(row[3], c.Grammar()+".") || !strings.EqualFold(row[4], c.Meaning+".") {
			t.Errorf("the note on %s is %q", c.Name, row)
		}
	}
}

// checkLists holds the drop-down list of each column against the words that landing takes.
func checkLists(t *testing.T, book *excelize.File, feed ingest.Feed, stations []string) {
	t.Helper()
	guides, err := book.GetDataValidations(feed.Name)
	if err != nil || len(guides) != len(feed.Columns) {
		t.Fatalf("%d columns have a message, of %d (%v)", len(guides), len(feed.Columns), err)
	}
	for i, c := range feed.Columns {
		want := c.Choices
		if c.Station {
			want = stations
		}
		var got []string
		if guides[i].Type == "list" {
			got = strings.Split(strings.Trim(guides[i].Formula1, `"`), ",")
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("the list of %s (-want +got):\n%s", c.Name, diff)
		}
		if guides[i].PromptTitle == nil || *guides[i].PromptTitle != c.Name || guides[i].Prompt == nil || len([]rune(*guides[i].Prompt)) > 255 {
			t.Errorf("%s has no message, or one that is too long", c.Name)
		}
	}
}

// TestText: a CSV template is its heading row.
func TestText(t *testing.T) {
	for _, feed := range ingest.Feeds() {
		if got, want := string(template.Text(feed)), strings.Join(feed.Headers(), ",")+"\n"; got != want {
			t.Errorf("%s: %q", feed.Name, got)
		}
	}
}
