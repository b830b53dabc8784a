package ingest

import (
	"errors"
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"trusstally/ingest/problem"
)

// moves are the counts of a receipt that say what a merge did.
type moves struct{ New, Changed, Unchanged, Removed, Rejected int64 }

func movesOf(r *Receipt) moves {
	return moves{r.New, r.Changed, r.Unchanged, r.Removed, r.Rejected}
}

// step is one file on its way in, and what is expected of it.
type step struct {
	file, text string
	want       moves
}

// TestMerge lands files one after the other and looks at what is in the warehouse and in
// history at the end.
func TestMerge(t *testing.T) {
	const jobs = "job,customer,price_usd\n"
	const cards = "employee,work_date,started_at\n"
	const receipts = "received_on,vendor,document,line,size,species,grade,length,boards\n"
	const usage = "record,used_at,station,size,species,grade,length,boards,reason\n"
	w := newTestWarehouse(t)
	for _, c := range []struct {
		name          string
		steps         []step
		query         string
		want, history []string
	}{
		{
			name: "a changed row supersedes, an equal one stays with its first import",
			steps: []step{
				{"jobs-1.csv", jobs + "J1,C1,100\nJ2,C1,200\n", moves{New: 2}},
				{"jobs-2.csv", jobs + "J3,,300\nJ1,C1,150\nJ2,C1,200.00\n", moves{New: 1, Changed: 1, Unchanged: 1}},
			},
			query:   "SELECT job, customer, price_usd, occurrence, import_id, import_line FROM %s ORDER BY ALL",
			want:    []string{"J1|C1|150|1|2|3", "J2|C1|200|1|1|3", "J3||300|1|2|2"},
			history: []string{"J1|C1|100|1|1|2|2|changed"},
		},
		{
			name:  "equal repeats of a unique key collapse",
			steps: []step{{"jobs-1.csv", jobs + "J1,C1,100\nJ1, C1 ,100.00\n", moves{New: 1, Unchanged: 1}}},
			query: "SELECT job, customer, price_usd, import_line FROM %s ORDER BY ALL",
			want:  []string{"J1|C1|100|2"},
		},
		{
			name: "a row without a value differs from one with it",
			steps: []step{
				{"jobs-1.csv", jobs + "J1,,100\n", moves{New: 1}},
				{"jobs-2.csv", jobs + "J1,C1,100\n", moves{Changed: 1}},
				{"jobs-3.csv", "job,price_usd\nJ1,100\n", moves{Changed: 1}},
			},
			query:   "SELECT job, customer, import_id FROM %s ORDER BY ALL",
			want:    []string{"J1||3"},
			history: []string{"J1|C1|2|3|changed", "J1||1|2|changed"},
		},
		{
			name: "rows of one key are told apart by their number within the file",
			steps: []step{
				{"receipts-1.csv", receipts + "2026-08-17,V1,P1,1,2x4,SPF,No. 2,16,100\n2026-08-17,V1,P1,1,2x4,SPF,No. 2,16,100\n", moves{New: 2}},
				{"receipts-2.csv", receipts + "2026-08-17,V1,P1,1,2x4,SPF,No. 2,16,100\n2026-08-17,V1,P1,1,2x4,SPF,No. 2,16,90\n2026-08-18,V1,P2,1,2X6,SPF,No. 2,16-00-00,5\n", moves{New: 1, Changed: 1, Unchanged: 1}},
			},
			query:   "SELECT document, size, length_16ths, boards, occurrence, import_id, import_line FROM %s ORDER BY ALL",
			want:    []string{"P1|2x4|3072|90|2|2|3", "P1|2x4|3072|100|1|1|2", "P2|2x6|3072|5|1|2|4"},
			history: []string{"P1|2x4|3072|100|2|1|3|2|changed"},
		},
		{
			name: "a bad row of a key told apart by number holds its equals back",
			steps: []step{
				{"receipts-1.csv", receipts + "2026-08-17,V1,P1,1,2x4,SPF,No. 2,16,100\n2026-08-17,V1,P1,1,2x4,SPF,No. 2,16,x\n2026-08-17,V1,P1,2,2x4,SPF,No. 2,16,100\n", moves{New: 1, Rejected: 2}},
			},
			query: "SELECT document, line, boards FROM %s ORDER BY ALL",
			want:  []string{"P1|2|100"},
		},
		{
			name: "the newest file is the truth for a group, equal rows in it are kept",
			steps: []step{
				{"timecards-1.csv", cards + "E1,2026-08-24,2026-08-24 06:00\nE1,2026-08-24,2026-08-24 06:00\nE1,2026-08-24,2026-08-24 10:30\nE2,2026-08-24,2026-08-24 06:00\n", moves{New: 4}},
				{"timecards-2.csv", cards + "E1,2026-08-24,2026-08-24 06:00\nE1,2026-08-24,2026-08-24 06:01\n", moves{Changed: 1, Unchanged: 1, Removed: 1}},
				{"timecards-3.csv", cards + "E1,2026-08-24,2026-08-24 06:00\nE1,2026-08-24,2026-08-24 06:01\nE1,2026-08-24,2026-08-24 06:00\n", moves{New: 1, Unchanged: 2}},
			},
			query:   "SELECT employee, started_at, occurrence, import_id, import_line FROM %s ORDER BY ALL",
			want:    []string{"E1|2026-08-24 06:00:00|1|1|2", "E1|2026-08-24 06:00:00|2|3|4", "E1|2026-08-24 06:01:00|1|2|3", "E2|2026-08-24 06:00:00|1|1|5"},
			history: []string{"E1|2026-08-24 06:00:00|2|1|3|2|changed", "E1|2026-08-24 10:30:00|1|1|4|2|removed"},
		},
		{
			name: "the date of a time stands in for a group's own",
			steps: []step{
				{"timecards-1.csv", cards + "E1,,2026-08-24 22:00\nE1,2026-08-24,2026-08-25 02:00\nE1,,2026-08-25 06:00\n", moves{New: 3}},
				{"timecards-2.csv", cards + "E1,2026-08-24,2026-08-25 02:00\n", moves{Unchanged: 1, Removed: 1}},
			},
			query:   "SELECT employee, work_date, started_at, import_id FROM %s ORDER BY ALL",
			want:    []string{"E1|2026-08-24|2026-08-25 02:00:00|1", "E1||2026-08-25 06:00:00|1"},
			history: []string{"E1||2026-08-24 22:00:00|1|2|removed"},
		},
		{
			name: "a blank station is a group of its own",
			steps: []step{
				{"lumber_usage-1.csv", usage + ",2026-08-24,,2x4,SPF,No. 2,16,1,ship\n,2026-08-24,S1,2x4,SPF,No. 2,16,2,cut\n", moves{New: 1, Rejected: 1}},
				{"lumber_usage-2.csv", "job," + usage + "J1,,2026-08-24,,2x4,SPF,No. 2,16,1,ship\nJ1,,2026-08-24,,2x4,SPF,No. 2,16,3,ship\n", moves{New: 2}},
				{"lumber_usage-3.csv", "job," + usage + "J1,,2026-08-24 12:00,,2x4,SPF,No. 2,16,3,ship\n", moves{Changed: 1, Removed: 1}},
			},
			query:   "SELECT station, boards, used_utc, import_id FROM %s ORDER BY ALL",
			want:    []string{"S1|2|2026-08-24 05:00:00|1", "|3|2026-08-24 17:00:00|3"},
			history: []string{"|1|2026-08-24 05:00:00|2|3|changed", "|3|2026-08-24 05:00:00|2|3|removed"},
		},
		{
			name: "a row with a record is keyed by it, across groups",
			steps: []step{
				{"lumber_usage-1.csv", usage + "U1,2026-08-24,S1,2x4,SPF,No. 2,16,1,cut\nU2,2026-08-24,S1,2x4,SPF,No. 2,16,2,cut\n,2026-08-24,S1,2x4,SPF,No. 2,16,3,cut\n", moves{New: 3}},
				{"lumber_usage-2.csv", usage + "U1,2026-08-25,S1,2x4,SPF,No. 2,16,1,cut\nU3,2026-08-24,S1,2x4,SPF,No. 2,16,x,cut\n,2026-08-24,S1,2x4,SPF,No. 2,16,4,cut\n", moves{Changed: 2, Rejected: 1}},
			},
			query:   "SELECT record, used_at, boards, import_id FROM %s ORDER BY ALL",
			want:    []string{"U1|2026-08-25|1|2", "U2|2026-08-24|2|1", "|2026-08-24|4|2"},
			history: []string{"U1|2026-08-24|1|1|2|changed", "|2026-08-24|3|1|2|changed"},
		},
		{
			name: "records: equal repeats collapse, different ones are refused",
			steps: []step{
				{"lumber_usage-1.csv", usage + "U1,2026-08-24,S1,2x4,SPF,No. 2,16,1,cut\nU1,2026-08-24,S1,2x4,SPF,No. 2,16,1,cut\nU2,2026-08-24,S1,2x4,SPF,No. 2,16,1,cut\nU2,2026-08-24,S1,2x4,SPF,No. 2,16,2,cut\n", moves{New: 1, Unchanged: 1, Rejected: 2}},
			},
			query: "SELECT record, boards FROM %s ORDER BY ALL",
			want:  []string{"U1|1"},
		},
		{
			name: "the old group stays when the new one has a bad row",
			steps: []step{
				{"timecards-1.csv", cards + "E1,2026-08-24,2026-08-24 06:00\n", moves{New: 1}},
				{"timecards-2.csv", cards + "E1,2026-08-24,2026-08-24 07:00\nE1,2026-08-24,noon\nE2,2026-08-24,2026-08-24 07:00\n", moves{New: 1, Rejected: 2}},
			},
			query: "SELECT employee, started_at FROM %s ORDER BY ALL",
			want:  []string{"E1|2026-08-24 06:00:00", "E2|2026-08-24 07:00:00"},
		},
		{
			name:  "blank cells and missing columns take their defaults",
			steps: []step{{"invoices-1.csv", "invoice,line,job,invoiced_on,amount_usd\nI1,,J1,2026-08-28,\"(1,234.50)\"\n", moves{New: 1}}},
			query: "SELECT invoice, line, kind, amount_usd FROM %s ORDER BY ALL",
			want:  []string{"I1|1|sale|-1234.5"},
		},
		{
			name:  "a local time that the clocks skipped or repeated has no instant",
			steps: []step{{"timecards-1.csv", cards + "E1,,2026-03-08 02:30\nE1,,2026-11-01 01:30\nE1,,2026-11-01 03:30\n", moves{New: 3}}},
			query: "SELECT started_at, started_utc FROM %s ORDER BY ALL",
			want:  []string{"2026-03-08 02:30:00|", "2026-11-01 01:30:00|", "2026-11-01 03:30:00|2026-11-01 09:30:00"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			w.begin()
			feed := ""
			for _, s := range c.steps {
				receipt := w.mustLand(s.file, s.text)
				feed = receipt.Feed
				if diff := cmp.Diff(s.want, movesOf(receipt)); diff != "" {
					t.Errorf("%s (-want +got):\n%s", s.file, diff)
				}
			}
			if diff := cmp.Diff(c.want, w.rows(fmt.Sprintf(c.query, feed))); diff != "" {
				t.Errorf("rows (-want +got):\n%s", diff)
			}
			history := strings.Replace(fmt.Sprintf(c.query, "history."+feed), " FROM", ", superseded_by, superseded_as FROM", 1)
			if diff := cmp.Diff(append([]string{}, c.history...), w.rows(history)); diff != "" {
				t.Errorf("history (-want +got):\n%s", diff)
			}
			if left := w.rows("SELECT table_name FROM duckdb_tables() WHERE temporary"); len(left) > 0 {
				t.Errorf("temporary tables are left: %v", left)
			}
		})
	}
}

// TestUnreadableGroup lands one bad row among good ones of two employees and two days, and
// expects the good rows that it may belong with to be held back.
func TestUnreadableGroup(t *testing.T) {
	const header = "employee,crew,work_date,started_at\n"
	good := []string{"E1,,2026-08-24,2026-08-24 06:00", "E1,,2026-08-25,2026-08-25 06:00", "E2,,2026-08-24,2026-08-24 06:00", "E2,,2026-08-25,2026-08-25 06:00"}
	w := newTestWarehouse(t)
	for _, c := range []struct {
		name, bad string
		want      []string // employee and day of the rows accepted
	}{
		{"both parts read", "E1,,2026-08-24,noon", []string{"E1|25", "E2|24", "E2|25"}},
		{"a date that is none", "E1,,24 August,2026-08-24 07:00", []string{"E2|24", "E2|25"}},
		{"no date at all", "E1,,,", []string{"E2|24", "E2|25"}},
		{"a blank date, and a time that is none", "E1,,,noon", []string{"E2|24", "E2|25"}},
		{"a blank employee", ",,2026-08-24,2026-08-24 07:00", []string{"E1|25", "E2|25"}},
		{"neither", ",,24 August,", nil},
		{"a short row whose date proves its place", "E1,,2026-08-24", []string{"E1|25", "E2|24", "E2|25"}},
		{"a long row whose date proves its place", "E1,,2026-08-24,2026-08-24 07:00,x", []string{"E1|25", "E2|24", "E2|25"}},
		{"a short row that a lost comma has shifted", "E1,2026-08-24,2026-08-24 07:00", []string{"E2|24", "E2|25"}},
		{"a long row that a comma has shifted", "Doe, E1,,2026-08-24,2026-08-24 07:00", nil},
		{"a stray quote", `E1,"RED" x,2026-08-24,2026-08-24 07:00`, []string{"E1|25", "E2|24", "E2|25"}},
		{"a row in which a quote hides lines", "E1,\"RED,2026-08-24,2026-08-24 07:00\nE1,\",2026-08-24,,,2026-08-24 07:00", nil},
		{"a group of its own", "E3,,2026-08-24,noon", []string{"E1|24", "E1|25", "E2|24", "E2|25"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w.begin()
			receipt := w.mustLand("timecards-1.csv", header+c.bad+"\n"+strings.Join(good, "\n")+"\n")
			got := w.rows("SELECT employee, day(started_at) FROM timecards ORDER BY ALL")
			if diff := cmp.Diff(append([]string{}, c.want...), got); diff != "" {
				t.Errorf("accepted (-want +got):\n%s", diff)
			}
			if want := int64(len(good) - len(c.want) + 1); receipt.Rejected != want {
				t.Errorf("rejected %d, want %d", receipt.Rejected, want)
			}
		})
	}
}

// TestMendedRejectsAreTheTruth mends the rejects file of a group and lands it.
func TestMendedRejectsAreTheTruth(t *testing.T) {
	w := newTestWarehouse(t)
	first := w.mustLand("timecards-1.csv", "employee,work_date,started_at,note\nE1,2026-08-24,2026-08-24 06:00,a\nE1,2026-08-24,noon,b\nE2,2026-08-24,2026-08-24 06:00\n")
	mended := strings.Replace(string(first.RejectsCSV), ",noon,", ",2026-08-24 12:00,", 1)
	mended = strings.Replace(mended, "E2,2026-08-24,2026-08-24 06:00\n", "E2,2026-08-24,2026-08-24 06:00,\n", 1)
	second := w.mustLand("timecards-1-rejects.csv", mended)
	if diff := cmp.Diff(moves{New: 3}, movesOf(second)); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	if len(second.Warnings) != 1 {
		t.Errorf("warnings %q, want one, of note", second.Warnings)
	}
	third := w.mustLand("timecards-2.csv", mended+"\n")
	if diff := cmp.Diff(moves{Unchanged: 3}, movesOf(third)); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

func TestTheSameFileTwice(t *testing.T) {
	w := newTestWarehouse(t)
	text := "job,price_usd\nJ1,100\nJ2,x\n"
	w.mustLand("jobs-1.csv", text)
	again := w.mustLand("jobs-renamed.csv", text)
	if !again.AlreadyRead || again.ImportID != 1 || again.Lines != 0 {
		t.Errorf("%+v, want it to be read already, as import 1", again)
	}
	if got := w.rows("SELECT import_id, feed, file_name, archive_name = sha256 || '.csv', lines, accepted, rejected, blank, rows_new FROM imports"); !slices.Equal(got, []string{"1|jobs|jobs-1.csv|true|2|1|1|0|1"}) {
		t.Errorf("import log %v", got)
	}
	if got := w.rows("SELECT * FROM rejects"); !slices.Equal(got, []string{"1|jobs|jobs-1.csv|3|price_usd|x|bad-number|price_usd: not a number (x)||"}) {
		t.Errorf("rejects %v", got)
	}
}

// TestAFileWhollyRefusedMayComeAgain enters the station that was missing, and lands the
// very file once more.
func TestAFileWhollyRefusedMayComeAgain(t *testing.T) {
	w := newTestWarehouse(t)
	text := "station,job,crew,shift,shift_date,quantity\nT9,J1,RED,day,2026-08-24,4\n"
	if first := w.mustLand("completions-1.csv", text); first.Rejected != 1 {
		t.Fatalf("rejected %d, want 1", first.Rejected)
	}
	w.opts.Stations = append(w.opts.Stations, "T9")
	if second := w.mustLand("completions-1.csv", text); second.AlreadyRead || second.New != 1 {
		t.Errorf("%+v, want one new row", second)
	}
}

func TestRemovals(t *testing.T) {
	w := newTestWarehouse(t)
	const header = "employee,work_date,started_at,rate_usd\n"
	punches := func(employee string, from, until int) string {
		var text strings.Builder
		for i := from; i < until; i++ {
			fmt.Fprintf(&text, "%s,2026-08-24,2026-08-24 %02d:%02d,21.50\n", employee, 6+i/60, i%60)
		}
		return text.String()
	}
	w.mustLand("timecards-1.csv", header+punches("E1", 0, 50)+punches("E2", 0, 9))
	if got := w.mustLand("timecards-2.csv", header+punches("E2", 0, 0)+punches("E1", 10, 50)); got.Removed != 10 {
		t.Errorf("a fifth: removed %d, want 10", got.Removed)
	}
	if got := w.mustLand("timecards-3.csv", header+punches("E2", 8, 9)); got.Removed != 8 || len(got.RemovedRows) != 8 {
		t.Errorf("fewer than ten: removed %d, want 8", got.Removed)
	}
	before := w.rows("SELECT (SELECT count(*) FROM timecards), (SELECT count(*) FROM history.timecards), (SELECT count(*) FROM imports), (SELECT count(*) FROM rejects)")
	broken := header + punches("E1", 10, 31)
	_, err := w.land("timecards-4.csv", broken)
	var refused problem.List
	if !errors.As(err, &refused) || refused[0].Code != CodeTooManyRemoved || strings.Contains(refused[0].Row, "21.5") || !strings.Contains(refused[0].Row, hidden) {
		t.Fatalf("%v, want [%s] without pay", err, CodeTooManyRemoved)
	}
	if after := w.rows("SELECT (SELECT count(*) FROM timecards), (SELECT count(*) FROM history.timecards), (SELECT count(*) FROM imports), (SELECT count(*) FROM rejects)"); !slices.Equal(before, after) {
		t.Errorf("a refused file changed %v to %v", before, after)
	}
	w.opts.AcceptRemovals = true
	got := w.mustLand("timecards-4.csv", broken)
	want := RemovedRow{FileName: "timecards-1.csv", Line: 33, Row: "employee E1, work_date 2026-08-24, started_at 2026-08-24 06:31:00, unpaid_min 0.00, pay_code worked, rate_usd •••"}
	if got.Removed != 19 || len(got.RemovedRows) != 19 || got.RemovedRows[0] != want {
		t.Errorf("removed %d, first %+v, want 19, first %+v", got.Removed, got.RemovedRows[0], want)
	}
}

// TestOrderDoesNotMatter lands files that agree on the groups that they share, in any
// order and repetition, and expects the same rows each time.
func TestOrderDoesNotMatter(t *testing.T) {
	w := newTestWarehouse(t)
	// Each check lands several files, so a few of them must do.
	if err := flag.Set("rapid.checks", "6"); err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(r *rapid.T) {
		groups := rapid.SliceOfN(rapid.SliceOfN(rapid.IntRange(0, 2), 1, 4), 3, 3).Draw(r, "minutes of each employee's punches")
		files := rapid.SliceOfN(rapid.SliceOfNDistinct(rapid.IntRange(0, 2), 1, 3, rapid.ID[int]), 2, 3).Draw(r, "employees of each file")
		order := rapid.SliceOfN(rapid.IntRange(0, len(files)-1), 0, 2).Draw(r, "files read again")
		order = append(rapid.Permutation(indexesOf(files)).Draw(r, "order"), order...)

		expected := map[string]bool{}
		w.begin()
		for number, file := range order {
			text := "employee,work_date,started_at\n"
			for _, employee := range files[file] {
				for _, minute := range groups[employee] {
					text += fmt.Sprintf("E%d,2026-08-24,2026-08-24 06:%02d\n", employee, minute)
				}
				expected[fmt.Sprint(employee)] = true
			}
			// A blank line tells a file read again from the first: only equal bytes are skipped.
			w.mustLand(fmt.Sprintf("timecards-%d.csv", number), text+strings.Repeat("\n", number))
		}
		want := []string{}
		for employee, punches := range groups {
			if !expected[fmt.Sprint(employee)] {
				continue
			}
			seen := map[int]int{}
			for _, minute := range punches {
				seen[minute]++
				want = append(want, fmt.Sprintf("E%d|%d|%d", employee, minute, seen[minute]))
			}
		}
		slices.Sort(want)
		got := w.rows("SELECT employee, minute(started_at), occurrence FROM timecards ORDER BY ALL")
		if diff := cmp.Diff(want, got); diff != "" {
			r.Fatalf("-want +got:\n%s", diff)
		}
		if history := w.rows("SELECT * FROM history.timecards"); len(history) > 0 {
			r.Fatalf("history %v, want none", history)
		}
	})
}

func indexesOf[T any](list []T) []int {
	indexes := make([]int, len(list))
	for i := range list {
		indexes[i] = i
	}
	return indexes
}
