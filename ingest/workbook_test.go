package ingest

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/xuri/excelize/v2"

	"trusstally/ingest/problem"
)

// landBook lands the workbook that a text describes.
func (w *testWarehouse) landBook(name, description string) (*Receipt, error) {
	w.t.Helper()
	return w.land(name, string(newWorkbook(w.t, description)))
}

func (w *testWarehouse) mustLandBook(name, description string) *Receipt {
	w.t.Helper()
	receipt, err := w.landBook(name, description)
	if err != nil {
		w.t.Fatal(err)
	}
	return receipt
}

// TestWorkbookLikeCSV lands the same rows from a CSV file and from a workbook, good and bad
// ones, into two warehouses: tables, history, import log, rejects and receipts must agree
// in all but the names of the files and of the places.
func TestWorkbookLikeCSV(t *testing.T) {
	for _, c := range []struct{ feed, text, book string }{
		{"jobs", "job,customer,line,ordered_on,price_usd,quoted_labour_min\n" +
			"1001,C1,roof,2026-08-24,8450.5,2700\n\n007,C1,FLOOR,2026-08-25,0.1,0\n1002,,attic,2026-08-24,1.005,-3\n,C2,roof,2026-02-30,x,\n1003,C3,,,123456789012.34,\n",
			"sheet jobs\njob | customer | line | ordered_on | price_usd | quoted_labour_min\n" +
				"n 1001 | C1 | roof | date 46258 | n 8450.5 | n 2700\n\n007 | C1 | FLOOR | n 46259 | n 0.10000000000000001 | n 0\nn 1002.0 | | attic | date 46258 | n 1.0049999999999999 | n -3\n | C2 | roof | 2026-02-30 | x |\nn 1003 | 'C3 | | | n 123456789012.34 |\n"},
		{"timecards", "employee,work_date,started_at,ended_at,unpaid_min,station,rate_usd\n" +
			"E1,2026-11-01,2026-11-01 01:30:00,2026-11-01 06:00:07,30,T1,21.5\nE1,2026-11-01,2026-11-01 07:00:00,noon,30,T1,21.5\nE2,2026-11-01,2026-11-01 00:00:00,2026-11-01 08:00:00,,T9,-1\nE3,2026-11-02,2026-11-02 06:10:00,2026-11-02 14:30:59,,T2,\n",
			"sheet timecards\nemployee | work_date | started_at | ended_at | unpaid_min | station | rate_usd\n" +
				"E1 | date 46327 | moment 46327.0625 | moment 46327.250081018516 | n 30 | T1 | n 21.5\nE1 | date 46327 | moment 46327.291666666664 | noon | n 30 | T1 | n 21.5\nE2 | date 46327 | moment 46327 | moment 46327.3333333333 | | T9 | n -1\nE3 | n 46328 | n 46328.256944444445 | n 46328.6048495370 | | T2 |\n"},
		{"cut_pieces", "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,T1,A,2x4,SPF,2,12.5,2\nJ1,T1,B,2x4,SPF,No. 2,12-06-08,2\nJ1,T1,C,2x4,SPF,No. 2,12.33,2\n",
			"sheet Cut Pieces\njob | truss | piece | size | species | grade | length | pieces_per_ply\nJ1 | T1 | A | 2x4 | SPF | n 2 | n 12.5 | n 2\nJ1 | T1 | B | 2x4 | SPF | No. 2 | 12-06-08 | f 1+1 -> 2\nJ1 | T1 | C | 2x4 | SPF | No. 2 | n 12.33 | n 2\n"},
	} {
		t.Run(c.feed, func(t *testing.T) {
			look := func(land func(w *testWarehouse) *Receipt) (*Receipt, []string) {
				w := newTestWarehouse(t)
				receipt := land(w)
				var all []string
				for _, table := range []string{c.feed, "history." + c.feed, "imports", "rejects"} {
					exclude := map[string]string{"imports": " EXCLUDE (file_name, sha256, archive_name)", "rejects": " EXCLUDE (file_name)"}[table]
					for _, row := range w.rows("SELECT *" + exclude + " FROM " + table + " ORDER BY ALL") {
						all = append(all, table+": "+row)
					}
				}
				return receipt, all
			}
			wantReceipt, want := look(func(w *testWarehouse) *Receipt { return w.mustLand(c.feed+"-1.csv", c.text) })
			gotReceipt, got := look(func(w *testWarehouse) *Receipt { return w.mustLandBook(c.feed+"-1.xlsx", c.book) })
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("tables (-CSV +workbook):\n%s", diff)
			}
			// Pay is ••• in the reasons: the rejects of a workbook then begin with a mark.
			gotReceipt.RejectsCSV = bytes.TrimPrefix(gotReceipt.RejectsCSV, []byte("\ufeff"))
			if wantReceipt.New == 0 || wantReceipt.Rejected == 0 {
				t.Errorf("new %d, rejected %d: the case shows too little", wantReceipt.New, wantReceipt.Rejected)
			}
			differs := cmp.Options{cmpopts.IgnoreFields(Receipt{}, "ArchiveName", "FileName", "SHA256", "Seconds"), cmpopts.IgnoreFields(problem.Problem{}, "Place")}
			if diff := cmp.Diff(wantReceipt, gotReceipt, differs); diff != "" {
				t.Errorf("receipts (-CSV +workbook):\n%s", diff)
			}
		})
	}
}

// TestRejectsOfWorkbook mends the rejects CSV of a workbook and lands it.
func TestRejectsOfWorkbook(t *testing.T) {
	w := newTestWarehouse(t)
	receipt := w.mustLandBook("completions-1.xlsx", "sheet completions\nstation | job | crew | shift | finished_at | quantity\nT1 | n 7 | RED | day | moment 46258.25 | e #N/A\nT2 | dépôt | RED | day | moment 46258.5 | n 2.5\nT2 | n 8 | RED | day | moment 46259.5 | n 3\n")
	if receipt.New != 1 || receipt.Rejected != 2 {
		t.Fatalf("%+v, want 1 new, 2 rejected", receipt)
	}
	mended := strings.NewReplacer("06:00:00,", "06:00:00,4", ",2.5", ",2").Replace(string(receipt.RejectsCSV))
	if receipt := w.mustLand("completions-1-import1.csv", mended); receipt.New != 2 {
		t.Errorf("%+v, want 2 new, of\n%s", receipt, mended)
	}
	want := []string{"7|2026-08-24 06:00:00|4", "8|2026-08-25 12:00:00|3", "dépôt|2026-08-24 12:00:00|2"}
	if got := w.rows("SELECT job, finished_at, quantity FROM completions ORDER BY job"); !cmp.Equal(want, got) {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestUnmendedRejectsOfWorkbook lands the rejects CSV of an error cell as it is: what the
// sheet showed must not come in as a code.
func TestUnmendedRejectsOfWorkbook(t *testing.T) {
	w := newTestWarehouse(t)
	receipt := w.mustLandBook("invoices-1.xlsx", "sheet invoices\ninvoice | line | job | invoiced_on | amount_usd | kind\nI1 | n 1 | e #N/A | date 46258 | n 1 | sale\ndate 46082 | n 1 | J1 | date 46258 | n 1 | sale\nf A1&A2 | n 1 | J1 | date 46258 | n 1 | sale\n")
	again := w.mustLand("invoices-2.csv", string(receipt.RejectsCSV))
	if again.Rejected != 3 || again.Accepted != 0 {
		t.Errorf("rejected %d, accepted %d, want 3 and 0", again.Rejected, again.Accepted)
	}
}

func Test1904(t *testing.T) {
	w := newTestWarehouse(t)
	receipt := w.mustLandBook("completions-1.xlsx", "date1904\nsheet completions\nstation | job | crew | shift | shift_date | finished_at | quantity\nT1 | J1 | RED | day | date 44796 | moment 44796.25 | n 1\n")
	if receipt.FirstOn != "2026-08-24" {
		t.Errorf("first on %s, want 2026-08-24", receipt.FirstOn)
	}
	if got := w.rows("SELECT shift_date, finished_at, finished_utc FROM completions"); got[0] != "2026-08-24|2026-08-24 06:00:00|2026-08-24 11:00:00" {
		t.Errorf("%q", got)
	}
}

// TestSheetIsChosen lands jobs from the sheet that each workbook and setting means.
func TestSheetIsChosen(t *testing.T) {
	const rows = "\njob | price_usd\n"
	for _, c := range []struct{ name, wanted, book, want string }{
		{"the only visible one", "", "sheet August" + rows + "A | n 1\nhidden sheet B" + rows + "B | n 1\n", "A"},
		{"named as the feed, in any case", "", "sheet August" + rows + "A | n 1\nsheet JOBS" + rows + "B | n 1\n", "B"},
		{"named as the feed, hidden", "", "sheet August" + rows + "A | n 1\nhidden sheet jobs" + rows + "B | n 1\n", "B"},
		{"named in plant.toml", "august", "sheet August" + rows + "A | n 1\nsheet jobs" + rows + "B | n 1\n", "A"},
		{"several", "", "sheet August" + rows + "A | n 1\nsheet September" + rows + "B | n 1\n", CodeWhichSheet},
		{"another is named in plant.toml", "Agust", "sheet jobs" + rows + "A | n 1\n", CodeWhichSheet},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newTestWarehouse(t)
			w.opts.Sheet = c.wanted
			_, err := w.landBook("jobs-1.xlsx", c.book)
			got := codeOf(err)
			if err == nil {
				got = strings.Join(w.rows("SELECT job FROM jobs"), ",")
			}
			if got != c.want {
				t.Errorf("%s, want %s", got, c.want)
			}
		})
	}
}

// TestWorkbookOfALibrary lands a workbook that an independent program wrote, with rich and
// odd texts, a wide gap and a formula with its value.
func TestWorkbookOfALibrary(t *testing.T) {
	book := excelize.NewFile()
	sheet := book.GetSheetName(0)
	set := func(cell string, value any) {
		t.Helper()
		if err := book.SetCellValue(sheet, cell, value); err != nil {
			t.Fatal(err)
		}
	}
	for cell, value := range map[string]any{
		"A3": "job", "B3": "description", "C3": "price_usd", "D3": "ordered_on",
		"A4": 1001, "B4": "two\nlines", "C4": 8450.1, "D4": "2026-08-24",
		"A1000": "007", "B1000": " A & <B> ", "C1000": 0.1 + 0.2,
	} {
		set(cell, value)
	}
	if err := book.SetCellRichText(sheet, "B5", []excelize.RichTextRun{{Text: "half "}, {Text: "bold", Font: &excelize.Font{Bold: true}}}); err != nil {
		t.Fatal(err)
	}
	set("A5", "J3")
	set("C5", -1)
	var out bytes.Buffer
	if err := book.Write(&out); err != nil {
		t.Fatal(err)
	}
	w := newTestWarehouse(t)
	receipt := w.mustLand("jobs-1.xlsx", out.String())
	if receipt.Lines != 997 || receipt.Blank != 994 || receipt.New != 3 {
		t.Errorf("lines %d, blank %d, new %d, want 997, 994, 3: %v", receipt.Lines, receipt.Blank, receipt.New, receipt.Problems)
	}
	want := []string{"007|A & <B>|0.3||1000", "1001|two\nlines|8450.1|2026-08-24|4", "J3|half bold|-1||5"}
	if got := w.rows("SELECT job, description, price_usd, ordered_on, import_line FROM jobs ORDER BY job"); !cmp.Equal(want, got) {
		t.Errorf("%q, want %q", got, want)
	}
	if again := w.mustLand("jobs-1.xlsx", out.String()); !again.AlreadyRead {
		t.Error("the same workbook was read twice")
	}
}

func TestWorkbookNoticesChange(t *testing.T) {
	path := filepath.Join(t.TempDir(), "jobs-1.xlsx")
	if err := os.WriteFile(path, newWorkbook(t, "sheet jobs\njob | price_usd\nJ1 | n 1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	from, err := openSource(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer from.file.Close()
	if err := os.WriteFile(path, newWorkbook(t, "sheet jobs\njob | price_usd\nJ1 | n 2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = (&sheetRows{place: places{file: from.name}, part: &xmlPart{book: from.book}}).finish()
	if got := codeOf(err); got != CodeFileChanged {
		t.Errorf("%q, want %s", got, CodeFileChanged)
	}
}

// TestPayOfWorkbooksIsNeverShown looks for pay in all that is printed of a workbook.
func TestPayOfWorkbooksIsNeverShown(t *testing.T) {
	const pay = "98.76543"
	w := newTestWarehouse(t)
	for i, rows := range []string{
		"employee | effective_on | role | rate_usd\nE1 | date 46027 | direct | n " + pay,
		"employee | effective_on | role | rate_usd\nE1 | date 46027 | direct | date " + pay,
		"employee | effective_on | role | rate_usd\nE1 | date 46027 | direct | f " + pay + "*1",
		"employee | effective_on | role | rate_usd\nE1 | date 46027 | direct | e " + pay,
		"employee | effective_on | role | rate_usd | salary\nE1 | date 46027 | boss | n 20 | n " + pay,
		"employee | effective_on | role | rate_usd\nE1 | date 46027 | direct | n 20 | n " + pay,
		"E1 | date 46027 | direct | n " + pay,
	} {
		var out bytes.Buffer
		receipt, err := w.landBook("wages-1.xlsx", "sheet wages\n"+rows+"\n")
		switch refused := err.(type) {
		case problem.List:
			refused.Print(&out, true)
		case nil:
			receipt.Print(&out)
			receipt.Problems.Print(&out, true)
		default:
			t.Fatal(err)
		}
		if !strings.Contains(out.String(), "[") || strings.Contains(out.String(), pay[:5]) {
			t.Errorf("workbook %d: nothing is refused, or pay is printed:\n%s", i, out.String())
		}
	}
	if logged := strings.Join(w.rows("SELECT * FROM rejects"), "\n"); strings.Contains(logged, pay[:5]) || logged == "" {
		t.Errorf("pay is logged:\n%s", logged)
	}
}
