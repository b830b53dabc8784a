package ingest

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// states returns what became of each refused row: import, line, state, and what settled it.
func (w *testWarehouse) states() []string {
	w.t.Helper()
	return w.rows("SELECT import_id, line, state, settled_by FROM refused_rows ORDER BY ALL")
}

// TestRefusedRowsAreSettled lands a file with refused rows and then a second one, and says
// what has become of each refused row.
func TestRefusedRowsAreSettled(t *testing.T) {
	const (
		invoices = "invoice,job,invoiced_on,amount_usd\nI1,J1,2026-03-16,100\nI2,J1,2026-03-17,12.345\nI3,J1,March,50\nTOTAL,,,162.35\n"
		cards    = "employee,work_date,started_at,ended_at\nE1,2026-03-16,2026-03-16 06:00,noon\nE1,2026-03-16,2026-03-16 12:30,2026-03-16 14:30\nE2,2026-03-16,2026-03-16 06:00,2026-03-16 14:30\n"
	)
	for _, c := range []struct {
		name, feed, first string
		second            func(rejects string) string
		settled           int64
		want              []string
	}{
		{"all mended", "invoices", invoices, func(rejects string) string {
			return strings.NewReplacer("17,12.345", "17,12.35", "March,50", "2026-03-18,50", "TOTAL,,,162.35", ",,,").Replace(rejects)
		}, 3, []string{"1|3|mended|2", "1|4|mended|2", "1|5|dropped|2"}},
		{"one mended, one still bad, one left out", "invoices", invoices, func(rejects string) string {
			rows := strings.SplitAfter(strings.Replace(rejects, ",12.345\n", ",12.35\n", 1), "\n")
			return strings.Join(rows[:3], "")
		}, 1, []string{"1|3|mended|2", "1|4|again|2", "1|5|open|", "2|3|open|"}},
		{"none mended", "invoices", invoices, func(rejects string) string { return rejects }, 0,
			[]string{"1|3|again|2", "1|4|again|2", "1|5|again|2", "2|2|open|", "2|3|open|", "2|4|open|"}},
		{"the whole file, mended, by its keys", "invoices", invoices, func(string) string {
			return "invoice,job,invoiced_on,amount_usd\nI1,J1,2026-03-16,100\nI2,J1,2026-03-17,12.35\nI3,J1,2026-03-18,50\n"
		}, 2, []string{"1|3|replaced|2", "1|4|replaced|2", "1|5|open|"}},
		{"names of another feed's rows", "invoices", invoices, func(string) string {
			return "reject_import,reject_line,invoice,job,invoiced_on,amount_usd\n9,3,I8,J1,2026-03-16,100\nx,,I9,J1,2026-03-16,100\n"
		}, 0, []string{"1|3|open|", "1|4|open|", "1|5|open|"}},
		{"one row of two that stand for one is still bad", "invoices", invoices, func(string) string {
			return "reject_import,reject_line,invoice,job,invoiced_on,amount_usd\n1,4,I3,J1,2026-03-18,30\n1,4,I4,J1,2026-03-18,x\n"
		}, 0, []string{"1|3|open|", "1|4|again|2", "1|5|open|", "2|3|open|"}},
		{"a group held back goes in together", "timecards", cards, func(rejects string) string {
			return strings.Replace(rejects, ",noon\n", ",2026-03-16 12:00\n", 1)
		}, 2, []string{"1|2|mended|2", "1|3|mended|2"}},
		{"a newer file is the truth for the group", "timecards", cards, func(string) string {
			return "employee,work_date,started_at,ended_at\nE1,2026-03-16,2026-03-16 06:00,2026-03-16 14:30\n"
		}, 2, []string{"1|2|replaced|2", "1|3|replaced|2"}},
		{"a newer file of other groups", "timecards", cards, func(string) string {
			return "employee,work_date,started_at,ended_at\nE1,2026-03-17,2026-03-17 06:00,2026-03-17 14:30\n"
		}, 0, []string{"1|2|open|", "1|3|open|"}},
		{"a key that stood twice", "jobs", "job,price_usd\nJ1,100\nJ1,200\nJ2,300\n", func(rejects string) string {
			rows := strings.SplitAfter(rejects, "\n")
			return rows[0] + rows[2]
		}, 2, []string{"1|2|replaced|2", "1|3|mended|2"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newTestWarehouse(t)
			first := w.mustLand(c.feed+"-1.csv", c.first)
			second := w.mustLand(c.feed+"-1-import1.csv", c.second(string(first.RejectsCSV)))
			if second.Settled != c.settled {
				t.Errorf("settled %d, want %d", second.Settled, c.settled)
			}
			if diff := cmp.Diff(c.want, w.states()); diff != "" {
				t.Errorf("-want +got:\n%s\nrejects:\n%s", diff, first.RejectsCSV)
			}
		})
	}
}

// TestMendedTwice: the mended file once more, and with a blank line more, changes nothing.
func TestMendedTwice(t *testing.T) {
	w := newTestWarehouse(t)
	first := w.mustLand("invoices-1.csv", "invoice,job,invoiced_on,amount_usd\nI1,J1,2026-03-16,x\n")
	mended := strings.Replace(string(first.RejectsCSV), ",x\n", ",100\n", 1)
	if second := w.mustLand("invoices-1-import1.csv", mended); second.New != 1 || second.Settled != 1 {
		t.Fatalf("%+v, want 1 new, 1 settled", second)
	}
	look := func() []string { return slices.Concat(w.rows("SELECT * FROM invoices"), w.states()) }
	want := look()
	if third := w.mustLand("invoices-1-import1.csv", mended); !third.AlreadyRead {
		t.Errorf("%+v, want already read", third)
	}
	if fourth := w.mustLand("invoices-1-import1.csv", mended+"\n"); fourth.Unchanged != 1 || fourth.Settled != 0 {
		t.Errorf("%+v, want 1 unchanged, none settled", fourth)
	}
	if diff := cmp.Diff(want, look()); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// TestSameFileReadAgain: a file of which every row was refused is read again when a station
// was added to plant.toml; its refusals are not counted twice.
func TestSameFileReadAgain(t *testing.T) {
	w := newTestWarehouse(t)
	const text = "station,job,crew,shift,shift_date,quantity\nT9,J1,RED,day,2026-03-16,1\nT8,J1,RED,day,2026-03-17,1\n"
	w.mustLand("completions-1.csv", text)
	w.opts.Stations = append(slices.Clone(w.opts.Stations), "T8")
	w.mustLand("completions-1.csv", text)
	if diff := cmp.Diff([]string{"1|2|again|2", "1|3|mended|2", "2|2|open|"}, w.states()); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// TestRefusedWholeReadAgain: a file of which every row is refused once more is the import that
// it was. Its refused rows stand once, in its rejects they name that import, and what has
// become of one since stays.
func TestRefusedWholeReadAgain(t *testing.T) {
	w := newTestWarehouse(t)
	const text = "station,job,crew,shift,shift_date,quantity\nT9,J1,RED,day,2026-03-16,1\nT8,J1,RED,day,2026-03-17,1\nTOTAL,,,,,2\n"
	first := w.mustLand("completions-1.csv", text)
	again := w.mustLand("completions-1.csv", text)
	if diff := cmp.Diff(string(first.RejectsCSV), string(again.RejectsCSV)); diff != "" || again.ImportID != 1 {
		t.Errorf("import %d, rejects -first +again:\n%s", again.ImportID, diff)
	}
	if diff := cmp.Diff([]string{"1|2|open|", "1|3|open|", "1|4|open|"}, w.states()); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	mended := "reject_import,reject_line,station,job,crew,shift,shift_date,quantity\n1,2,T1,J1,RED,day,2026-03-16,1\n"
	w.mustLand("completions-1-import1.csv", mended)
	w.mustLand("completions-1.csv", text)
	if diff := cmp.Diff([]string{"1|2|mended|2", "1|3|open|", "1|4|open|"}, w.states()); diff != "" {
		t.Errorf("after one was mended (-want +got):\n%s", diff)
	}
	// With a station more and the total set aside, the same file is an import of its own.
	w.opts.Stations = append(slices.Clone(w.opts.Stations), "T8")
	w.settings = settingsWith(t, "[feed.completions]\nremarks = [\"TOTAL*\"]\n")
	w.mustLand("completions-1.csv", text)
	if diff := cmp.Diff([]string{"1|2|mended|2", "1|3|mended|3", "1|4|dropped|3", "3|2|open|"}, w.states()); diff != "" {
		t.Errorf("after plant.toml was mended (-want +got):\n%s", diff)
	}
}

// TestUndoOfRefusedRows undoes an import after others, and says what has become of the refused
// rows of those that are in force.
func TestUndoOfRefusedRows(t *testing.T) {
	const (
		head    = "invoice,job,invoiced_on,amount_usd\n"
		names   = "reject_import,reject_line," + head
		refused = head + "I1,J1,2026-03-16,100\nI2,J1,2026-03-17,x\nI3,J1,March,50\n"
	)
	for _, c := range []struct {
		name  string
		files []string
		undo  int64
		want  []string
	}{
		{"what it refused is gone", []string{refused}, 1, []string{}},
		{"what it mended is open again", []string{refused, names + "1,3,I2,J1,2026-03-17,7\n"}, 2, []string{"1|3|open|", "1|4|open|"}},
		{"what it replaced, and gave up, is open again", []string{refused, names + ",,I2,J1,2026-03-17,7\n1,4,,,,\n"}, 2, []string{"1|3|open|", "1|4|open|"}},
		{"what it refused again is open where it was", []string{refused, names + "1,3,I2,J1,2026-03-17,y\n"}, 2, []string{"1|3|open|", "1|4|open|"}},
		{"what others mended stays mended", []string{refused, names + "1,3,I2,J1,2026-03-17,7\n", names + "1,4,I3,J1,2026-03-18,50\n"}, 3, []string{"1|3|mended|2", "1|4|open|"}},
		{"what was mended goes with its own import", []string{refused, names + "1,3,I2,J1,2026-03-17,7\n"}, 1, []string{}},
		{"what it refused again and another mended is mended", []string{
			refused, names + "1,3,I2,J1,2026-03-17,y\n1,4,I3,J1,April,50\n", names + "2,2,I2,J1,2026-03-17,7\n",
		}, 2, []string{"1|3|mended|3", "1|4|open|"}},
		{"what two refused again and a third mended is mended", []string{
			refused, names + "1,4,I3,J1,April,50\n", names + "2,2,I3,J1,May,50\n", names + "3,2,I3,J1,2026-03-18,50\n",
		}, 3, []string{"1|3|open|", "1|4|again|2", "2|2|mended|4"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newTestWarehouse(t)
			var before []string
			for i, text := range c.files {
				if int64(i+1) == c.undo {
					before = w.states()
				}
				w.mustLand(fmt.Sprintf("invoices-%d.csv", i+1), text)
			}
			if _, code := w.undo(c.undo); code != "" {
				t.Fatalf("[%s]", code)
			}
			if diff := cmp.Diff(c.want, w.states()); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
			if c.undo == int64(len(c.files)) {
				if diff := cmp.Diff(before, w.states()); diff != "" {
					t.Errorf("the newest import leaves something behind (-before +undone):\n%s", diff)
				}
			}
			// Read once more, nothing stands twice.
			w.mustLand(fmt.Sprintf("invoices-%d.csv", c.undo), c.files[c.undo-1])
			if twice := w.rows("SELECT import_id, line FROM refused_rows GROUP BY ALL HAVING count(*) > 1"); len(twice) > 0 {
				t.Errorf("twice: %q", twice)
			}
			if orphans := w.rows("SELECT r.import_id FROM refused_rows AS r JOIN imports AS i USING (import_id) WHERE i.undone_utc IS NOT NULL"); len(orphans) > 0 {
				t.Errorf("refused rows of an undone import: %q", orphans)
			}
		})
	}
}

// TestFormulasOfRejects: texts that a spreadsheet would run are marked in the rejects file,
// and come back as they were.
func TestFormulasOfRejects(t *testing.T) {
	w := newTestWarehouse(t)
	const text = "job,customer,description,price_usd,=1+1\n" +
		"=1+1,+C1,@x,x,-1+1\n'=2,'C2,-5,x,''\n"
	first := w.mustLand("jobs-1.csv", text)
	const want = "reject_import,reject_line,reject_column,reject_reason,job,customer,description,price_usd,'=1+1\n" +
		"1,2,price_usd,price_usd: not a number (x) [bad-number],'=1+1,'+C1,'@x,x,'-1+1\n" +
		"1,3,price_usd,price_usd: not a number (x) [bad-number],''=2,'C2,-5,x,'''\n"
	if diff := cmp.Diff(want, string(first.RejectsCSV)); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	again := w.mustLand("jobs-1-import1.csv", string(first.RejectsCSV))
	wantAgain := bytes.ReplaceAll(bytes.ReplaceAll([]byte(want), []byte("\n1,2,"), []byte("\n2,2,")), []byte("\n1,3,"), []byte("\n2,3,"))
	if diff := cmp.Diff(string(wantAgain), string(again.RejectsCSV)); diff != "" {
		t.Errorf("read and refused again, -want +got:\n%s", diff)
	}
	w.mustLand("jobs-1-import2.csv", strings.ReplaceAll(string(again.RejectsCSV), ",x,", ",100,"))
	if diff := cmp.Diff([]string{"'=2|'C2|-5", "=1+1|+C1|@x"}, w.rows("SELECT job, customer, description FROM jobs ORDER BY ALL")); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}
