package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/problem"
)

// TestRefusedFilesLeaveNothing lands files that are refused at each stage and looks for
// anything left of them: rows, temporary tables, temporary files.
func TestRefusedFilesLeaveNothing(t *testing.T) {
	w := newTestWarehouse(t)
	for name, text := range map[string]string{
		"jobs-empty.csv":   "",
		"jobs-header.csv":  "job\nJ1\n",
		"jobs-quote.csv":   "job,price_usd\nJ1,100\nJ2,\"200\n",
		"wages-binary.csv": "employee\x00",
	} {
		if _, err := w.land(name, text); codeOf(err) == "" {
			t.Errorf("%s was not refused", name)
		}
		if err := os.Remove(w.dir + "/" + name); err != nil {
			t.Fatal(err)
		}
	}
	if got := w.rows("SELECT (SELECT count(*) FROM jobs) + (SELECT count(*) FROM imports) + (SELECT count(*) FROM rejects) + (SELECT count(*) FROM duckdb_tables() WHERE temporary)"); got[0] != "0" {
		t.Errorf("%s rows or temporary tables are left", got[0])
	}
	if left, err := os.ReadDir(w.dir); err != nil || len(left) > 0 {
		t.Errorf("%v are left in the temporary folder, %v", left, err)
	}
}

func TestAHeaderRowAlone(t *testing.T) {
	w := newTestWarehouse(t)
	receipt := w.mustLand("jobs-1.csv", "\n\njob,price_usd\n\n")
	if receipt.Lines != 1 || receipt.Blank != 1 || receipt.ImportID != 1 {
		t.Errorf("%+v, want one blank line, import 1", receipt)
	}
}

func TestRowTooLong(t *testing.T) {
	w := newTestWarehouse(t)
	long := strings.Repeat("very ", longestRow/5+1)
	receipt := w.mustLand("jobs-1.csv", "job,description,price_usd\nJ1,"+long+"long,100\nJ2,"+long[:longestRow/2]+",100\n")
	if receipt.New != 1 || receipt.Rejected != 1 || receipt.Problems[0].Code != CodeRowTooLong || len(receipt.Problems[0].Row) > 2*longestRowShown {
		t.Errorf("new %d, rejected %d, %v", receipt.New, receipt.Rejected, receipt.Problems[0].Code)
	}
}

// TestEveryBadCellIsListed counts the problems of rows that have several.
func TestEveryBadCellIsListed(t *testing.T) {
	w := newTestWarehouse(t)
	receipt := w.mustLand("completions-1.csv", "station,job,crew,shift,setup_started_at,finished_at,quantity\nT9,,RED,day,2026-08-24 09:00,2026-08-24 08:00,x\nT1,J1,RED,day,noon,later,1\n")
	var got []string
	for _, p := range receipt.Problems {
		got = append(got, p.Place+" "+p.Code)
	}
	want := []string{
		"completions-1.csv:2:1 unknown-station", "completions-1.csv:2:2 missing-value", "completions-1.csv:2:6 bad-order", "completions-1.csv:2:7 bad-number",
		"completions-1.csv:3:5 bad-time", "completions-1.csv:3:6 bad-time",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	if receipt.Rejected != 2 {
		t.Errorf("rejected %d, want 2", receipt.Rejected)
	}
}

// TestPayIsNeverShown lands pay in every place where it could slip out, and looks for it
// in all that is printed or logged. Only the rejects file keeps it.
func TestPayIsNeverShown(t *testing.T) {
	const pay = "98.76543"
	w := newTestWarehouse(t)
	for i, text := range []string{
		"employee,effective_on,role,rate_usd\nE1,2026-01-05,direct," + pay + "\n",
		"employee,effective_on,role,rate_usd,salary\nE1,2026-01-05,boss,21.50," + pay + "\n",
		"employee,effective_on,role,rate_usd\nE1,2026-01-05,direct,\"1,2\"," + pay + "\n",
		"employee,effective_on,role,rate_usd\nE1,2026-01-05," + pay + "\n",
		"employee,effective_on,role,rate_usd\nE1,2026-01-05,\"direct\" ," + pay + "\n",
		"employee,effective_on,role,rate_usd\nE1,2026-01-05,direct,-" + pay + "\n",
		"employee,effective_on,role,basis,rate_usd\nE1,2026-01-05,direct,salary,98.7654\nE1,2026-01-05,direct,hourly,98.7654\n",
		"E1,2026-01-05,direct," + pay + "\n",
	} {
		var out bytes.Buffer
		receipt, err := w.land(fmt.Sprintf("wages-%d.csv", i), text)
		var refused problem.List
		switch {
		case errors.As(err, &refused):
			refused.Print(&out, true)
		case err != nil:
			t.Fatal(err)
		default:
			receipt.Print(&out)
			receipt.Problems.Print(&out, true)
			if len(receipt.Problems) == 0 || !bytes.Contains(receipt.RejectsCSV, []byte(pay[:7])) {
				t.Errorf("file %d: the rejects file does not keep the row as it was:\n%s", i, receipt.RejectsCSV)
			}
		}
		if strings.Contains(out.String(), pay[:5]) {
			t.Errorf("file %d: pay is printed:\n%s", i, out.String())
		}
	}
	if logged := strings.Join(w.rows("SELECT * FROM rejects"), "\n"); strings.Contains(logged, pay[:5]) || logged == "" {
		t.Errorf("pay is logged:\n%s", logged)
	}
}

func TestReceiptPrint(t *testing.T) {
	var out bytes.Buffer
	(&Receipt{
		ImportID: 7, Feed: "timecards", FileName: "timecards-2026-08.csv", Lines: 120, Accepted: 117, Rejected: 2, Blank: 1,
		New: 20, Changed: 3, Unchanged: 94, Removed: 1, FirstOn: "2026-08-03", LastOn: "2026-08-28", Seconds: 0.26,
		RemovedRows: []RemovedRow{{FileName: "timecards-2026-07.csv", Line: 12, Row: "employee E1, work_date 2026-08-03"}},
		Warnings:    []string{"timecards-2026-08.csv:1:4: timecards has no such column, it is left out (note)"},
	}).Print(&out)
	(&Receipt{ImportID: 7, FileName: "timecards-2026-08.csv", AlreadyRead: true}).Print(&out)
	want := `timecards-2026-08.csv: import 7 into timecards
  lines     120  accepted 117, rejected 2, blank 1
  new        20
  changed     3
  unchanged  94
  removed     1
  dates     2026-08-03 to 2026-08-28
  seconds   0.3
  removed: employee E1, work_date 2026-08-03 (timecards-2026-07.csv:12)
  warning: timecards-2026-08.csv:1:4: timecards has no such column, it is left out (note)
timecards-2026-08.csv: already read as import 7, nothing changed
`
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// TestNumbers lands numbers of every form that is taken, and expects them to the digit.
func TestNumbers(t *testing.T) {
	w := newTestWarehouse(t)
	texts := []string{"0", "-0", "007", "8450", "8450.5", "8450.50", `"1,234,567.89"`, `"-1,234.5"`, "(12.50)", `"(1,000)"`, "999999999999.99", "-999999999999.99", "000999999999999.99"}
	want := []string{"0", "0", "7", "8450", "8450.5", "8450.5", "1234567.89", "-1234.5", "-12.5", "-1000", "999999999999.99", "-999999999999.99", "999999999999.99"}
	file := "job,price_usd\n"
	for i, text := range texts {
		file += fmt.Sprintf("J%02d,%s\n", i, text)
	}
	if receipt := w.mustLand("jobs-1.csv", file); receipt.Rejected > 0 {
		t.Errorf("rejected: %v", receipt.Problems)
	}
	if got := w.rows("SELECT price_usd FROM jobs ORDER BY job"); !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	file = "job,price_usd\n"
	for i, text := range []string{"1.", ".1", "+1", "1 000", `"12,34"`, `"1,2345"`, `",123"`, "(-1)", "(1", "1)", "--1", "1e3", "0x10", "1_000", "NaN", "١", "1000000000000", "1.234"} {
		file += fmt.Sprintf("K%02d,%s\n", i, text)
	}
	if receipt := w.mustLand("jobs-2.csv", file); receipt.Accepted > 0 {
		t.Errorf("accepted: %v", w.rows("SELECT job, price_usd FROM jobs WHERE job > 'K'"))
	}
}

// BenchmarkLand lands a quarter of a million punches.
func BenchmarkLand(b *testing.B) {
	var text strings.Builder
	text.WriteString("employee,crew,station,work_date,started_at,ended_at,unpaid_min,rate_usd\n")
	first := time.Date(2020, 1, 1, 6, 0, 0, 0, time.UTC)
	for i := range 250_000 {
		at := first.Add(time.Duration(i) * 10 * time.Minute)
		fmt.Fprintf(&text, "E%d,RED,T1,%s,%s,%s,30,%d.50\n", i%70, at.Format(time.DateOnly), at.Format("2006-01-02 15:04"), at.Add(time.Hour).Format("2006-01-02 15:04"), 20+i%7)
	}
	w := newTestWarehouse(b)
	for b.Loop() {
		w.begin()
		w.mustLand("timecards-1.csv", text.String())
	}
}
