package ingest

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"trusstally/ingest/plant"
)

// TestProposeRoundTrip takes exports as a dozen systems write them through a proposal, the
// reader of plant.toml and an import, and holds the rows against those of the canonical
// file.
func TestProposeRoundTrip(t *testing.T) {
	const cards = "employee,work_date,started_at,ended_at\nE1,2026-08-24,2026-08-24 06:00,2026-08-24 14:30\nE2,2026-08-24,2026-08-24 22:00,2026-08-25 06:15\n"
	const receipts = "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-08-17,V1,P1,1,2x4,SPF,No. 2,12-00-00,1200,545.50\n2026-08-31,Müller,P2,1,2x6,SYP,No. 2 Dense,16-00-00,300,1610.25\n"
	const invoices = "invoice,job,invoiced_on,amount_usd\nI1,J1,2026-08-03,1000.50\nI2,J1,2026-08-14,-200\nI3,J2,2026-08-25,300\n"
	wide := unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewEncoder()
	marked := unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder()
	western := charmap.Windows1252.NewEncoder()
	encoded := func(text string, err error) string {
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	for _, c := range []struct {
		name, feed, file, text, canonical string
		want                              []string // settings that are proposed, exactly these lines without their remarks
	}{
		{"a canonical file", "timecards", "timecards-1.csv", cards, cards, []string{"[feed.timecards]"}},
		{"semicolons and a comma before decimals", "receipts", "receipts-1.csv",
			"received_on;vendor;document;line;size;species;grade;length;boards;usd_per_mbf\n17.08.2026;V1;P1;1;2x4;SPF;No. 2;12-00-00;1.200;545,50\n31.08.2026;Müller;P2;1;2x6;SYP;No. 2 Dense;16-00-00;300;1.610,25\n", receipts,
			[]string{"[feed.receipts]", `delimiter = ";"`, `date_format = "DD.MM.YYYY"`, `decimal = ","`, `thousands = "."`}},
		{"a clock with a date and a time apart", "timecards", "punches_0824.txt",
			"Badge\tDate\tTime In\tTime Out\nE1\t8/24/2026\t6:00 AM\t2:30 PM\nE2\t8/24/2026\t10:00 PM\t6:15 AM\n", cards,
			[]string{"[feed.timecards]", `files = "punches_*.txt"`, `delimiter = "\t"`, `date_format = "M/D/YYYY"`, `time_format = "h:MM AM"`, "[feed.timecards.columns]",
				`employee = "Badge"`, `work_date = "Date"`, `started_at = { date = "Date", time = "Time In" }`, `ended_at = { date = "Date", time = "Time Out", after = "started_at" }`}},
		{"Windows-1252, a title and dollars", "receipts", "rcv 08.csv",
			encoded(western.String("Lumber received\nprinted 31 August\n\nReceived,Supplier,Slip,Ln,Nominal,Species,Grd,Len,Pcs,Price\n08/17/26,V1,P1,1,2x4,SPF,No. 2,12',\"1,200\",$545.50\n08/31/26,Müller,P2,1,2 X 6,SYP,No. 2 Dense,16',300,\"$1,610.25\"\n")), receipts,
			[]string{"[feed.receipts]", `files = "rcv *.csv"`, `encoding = "windows-1252"`, `header_row = "Received"`, `date_format = "MM/DD/YY"`, `currency = "$"`, "[feed.receipts.columns]",
				`received_on = "Received"`, `vendor = "Supplier"`, `document = "Slip"`, `line = "Ln"`, `size = "Nominal"`, `grade = "Grd"`, `length = "Len"`, `boards = "Pcs"`, `usd_per_mbf = "Price"`}},
		{"UTF-16 without a mark, in bars", "timecards", "timecards-2.csv", encoded(wide.String(strings.ReplaceAll(cards, ",", "|"))), cards, []string{"[feed.timecards]", `delimiter = "|"`, `encoding = "utf-16"`}},
		{"UTF-16 with a mark", "timecards", "timecards-3.csv", encoded(marked.String(cards)), cards, []string{"[feed.timecards]"}},
		{"totals and page breaks", "invoices", "billing.csv",
			"Inv,Order,Inv Date,Net\nI1,J1,08/03/2026,\"1,000.50\"\nI2,J1,08/14/2026,(200.00)\nSubtotal J1,,,800.50\nPage 2,,,\nI3,J2,08/25/2026,300.00\nSubtotal J2,,,300.00\nGrand Total,,,\"1,100.50\"\n", invoices,
			[]string{"[feed.invoices]", `files = "billing*.csv"`, `date_format = "MM/DD/YYYY"`, `footer = ["Grand Total*"]`, `subtotal = ["Subtotal*"]`, `remarks = ["Page *"]`, `totals = ["amount_usd"]`,
				"[feed.invoices.columns]", `invoice = "Inv"`, `job = "Order"`, `invoiced_on = "Inv Date"`, `amount_usd = "Net"`}},
		{"a description in one column", "receipts", "receipts-3.csv",
			"received_on,vendor,document,line,Description,boards,usd_per_mbf\n2026-08-17,V1,P1,1,2x4 SPF No. 2 12-00-00,1200,545.50\n2026-08-31,Müller,P2,1,2x6 SYP No. 2 Dense 16-00-00,300,1610.25\n", receipts,
			[]string{"[feed.receipts]", "[feed.receipts.split]", `"Description" = "{size} {species} {grade...} {length}"`}},
		{"hours and minutes", "timecards", "timecards-4.csv", "employee,work_date,hours\nE1,2026-08-24,7:20\nE2,2026-08-24,8:00\n", "employee,work_date,hours\nE1,2026-08-24,7.3333\nE2,2026-08-24,8\n",
			[]string{"[feed.timecards]", "[feed.timecards.units]", `hours = "h:mm"`}},
		{"months by name and points in times", "stoppages", "stops.csv", "station,From,To,Why\nT1,24-Aug-2026 09.40,24-Aug-2026 13.05,jam\n", "station,started_at,ended_at,reason\nT1,2026-08-24 09:40,2026-08-24 13:05,jam\n",
			[]string{"[feed.stoppages]", `files = "stops*.csv"`, `date_format = "DD-MMM-YYYY"`, `time_format = "HH.MM"`, "[feed.stoppages.columns]", `started_at = "From"`, `ended_at = "To"`, `reason = "Why"`}},
		{"a sheet among others", "invoices", "billing.xlsx",
			"sheet Notes\nof August\nsheet Bills\nBills of August\nInv | Order | Inv Date | Net\nI1 | J1 | date 46237 | n 1000.5\nI2 | J1 | date 46248 | n -200\nI3 | J2 | date 46259 | n 300\nTotal |  |  | n 1100.5\n", invoices,
			[]string{"[feed.invoices]", `files = "billing*.xlsx"`, `sheet = "Bills"`, `header_row = "Inv"`, `footer = ["Total*"]`, `totals = ["amount_usd"]`, "[feed.invoices.columns]", `invoice = "Inv"`, `job = "Order"`, `invoiced_on = "Inv Date"`, `amount_usd = "Net"`}},
		{"a sheet with times of the clock", "timecards", "clock.xlsx",
			"sheet Punches\nBadge | Date | In | Out\nE1 | date 46258 | time 0.25 | time 0.604166666666667\nE2 | date 46258 | time 0.916666666666667 | time 0.260416666666667\n", cards,
			[]string{"[feed.timecards]", `files = "clock*.xlsx"`, "[feed.timecards.columns]",
				`employee = "Badge"`, `work_date = "Date"`, `started_at = { date = "Date", time = "In" }`, `ended_at = { date = "Date", time = "Out", after = "started_at" }`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newTestWarehouse(t)
			query := "SELECT * EXCLUDE (import_id, import_line) FROM " + c.feed + " ORDER BY ALL"
			w.mustLand(c.feed+"-canonical.csv", c.canonical)
			want := w.rows(query)
			w.begin()
			path := filepath.Join(w.dir, c.file)
			content := []byte(c.text)
			if strings.HasSuffix(c.file, ".xlsx") {
				content = newWorkbook(t, c.text)
			}
			if err := os.WriteFile(path, content, 0o600); err != nil {
				t.Fatal(err)
			}
			text, err := Propose(path, "", nil)
			if err != nil {
				t.Fatal(err)
			}
			if got := settingsOf(text); !slices.Equal(got, c.want) {
				t.Errorf("proposed\n%s\nwant\n%s\nin\n%s", strings.Join(got, "\n"), strings.Join(c.want, "\n"), text)
			}
			w.settings = settingsWith(t, text)
			receipt, err := w.landFile(path)
			if err != nil {
				t.Fatalf("%v\nunder\n%s", err, text)
			}
			if receipt.Rejected > 0 {
				t.Errorf("refused: %s\nunder\n%s", receipt.Problems[0].What, text)
			}
			if got := w.rows(query); !slices.Equal(got, want) {
				t.Errorf("got %q\nwant %q\nunder\n%s", got, want, text)
			}
		})
	}
}

// settingsOf are the lines of a proposal that say something, without their remarks.
func settingsOf(text string) []string {
	var settings []string
	for _, line := range strings.Split(text, "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		line, _, _ = strings.Cut(line, "  #")
		line, _, _ = strings.Cut(line, " # ")
		settings = append(settings, strings.TrimRight(line, " "))
	}
	return settings
}

// TestProposeDoubts holds what nothing in the file tells behind a #, and keeps pay out.
func TestProposeDoubts(t *testing.T) {
	settings := &plant.Settings{Stations: []plant.Station{{Code: "T1"}}, Feeds: map[string]plant.FeedRules{"invoices": {}}}
	for _, c := range []struct {
		name, file, text string
		want, never      []string
	}{
		{"day or month", "invoices-1.csv", "invoice,job,invoiced_on,amount_usd\nI1,J1,03/04/2026,100\nI2,J1,05/04/2026,100\n", []string{
			"plant.toml has a section [feed.invoices] already",
			`# date_format = "MM/DD/YYYY"      # reads 2 of 2, as DD/MM/YYYY does: 03/04/2026 is 2026-03-04 or 2026-04-03; nothing in this file tells`, `# date_format = "DD/MM/YYYY"`,
		}, []string{"\ndate_format"}},
		{"words of closed lists", "wages-1.csv", "employee,effective_on,role,rate_usd\nE1,2026-01-05,builder,98.76\n", []string{`# [feed.wages.codes.role]`, `# "builder" = ""`, "one of direct, indirect, lead"}, []string{"98.76"}},
		{"stations", "stoppages-1.csv", "station,started_at,ended_at,reason\nTable 1,2026-08-24 09:40,2026-08-24 10:05,jam\n", []string{`# "Table 1" = `, "whether afternoons are written 13:00"}, nil},
		{"prices of a board", "receipts-1.csv", "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf,salesman\n2026-08-17,V1,P1,1,2x4,SPF,No. 2,12-00-00,100,4.40,Bo\n",
			[]string{`# usd_per_mbf = "board"`, "left out, no column of receipts: salesman"}, nil},
		{"a total that does not add up", "invoices-1.csv", "invoice,job,invoiced_on,amount_usd\nI1,J1,2026-08-14,100\nTotal,,,300\n", []string{"line 3 gives 300 for amount_usd, and the rows do not add up to it"}, []string{"totals ="}},
		{"a required column", "completions-1.csv", "station,job,quantity,crew\nT1,J1,4,RED\n", []string{"required and not found: shift"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), c.file)
			if err := os.WriteFile(path, []byte(c.text), 0o600); err != nil {
				t.Fatal(err)
			}
			text, err := Propose(path, "", settings)
			if err != nil {
				t.Fatal(err)
			}
			for _, want := range c.want {
				if !strings.Contains(text, want) {
					t.Errorf("%q is not in\n%s", want, text)
				}
			}
			for _, never := range c.never {
				if strings.Contains(text, never) {
					t.Errorf("%q is in\n%s", never, text)
				}
			}
		})
	}
}
