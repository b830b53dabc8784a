package ingest

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"pgregory.net/rapid"

	"trusstally/ingest/plant"
)

// manner is one way in which a plant's system writes its files.
type manner struct {
	delimiter, encoding, decimal, thousands, currency, date, dateLayout, clock, clockLayout string
	title, apart, packed, totalled                                                          bool
}

func drawManner(t *rapid.T) manner {
	dates := []string{"YYYY-MM-DD|2006-01-02", "MM/DD/YYYY|01/02/2006", "M/D/YY|1/2/06", "DD.MM.YYYY|02.01.2006", "D-MMM-YY|2-Jan-06", "YYYYMMDD|20060102"}
	clocks := []string{"HH:MM|15:04", "h:MM AM|3:04 PM", "hh:MM:SS AM|03:04:05 PM", "HHMM|1504", "HH.MM|15.04"}
	marks := rapid.SampledFrom([]string{".,", ",.", ", ", ".'", ",'"}).Draw(t, "marks")
	m := manner{
		delimiter: rapid.SampledFrom([]string{",", ";", "\t", "|"}).Draw(t, "delimiter"), encoding: rapid.SampledFrom(plant.Encodings).Draw(t, "encoding"),
		decimal: marks[:1], thousands: marks[1:], currency: rapid.SampledFrom([]string{"", "$", "USD"}).Draw(t, "currency"),
		title: rapid.Bool().Draw(t, "title"), apart: rapid.Bool().Draw(t, "apart"), packed: rapid.Bool().Draw(t, "packed"), totalled: rapid.Bool().Draw(t, "totalled"),
	}
	m.date, m.dateLayout, _ = strings.Cut(rapid.SampledFrom(dates).Draw(t, "date"), "|")
	m.clock, m.clockLayout, _ = strings.Cut(rapid.SampledFrom(clocks).Draw(t, "clock"), "|")
	return m
}

// rules are the sections of plant.toml that say how the manner is.
func (m manner) rules() string {
	common := fmt.Sprintf("delimiter = %q\nencoding = %q\ndecimal = %q\nthousands = %q\ncurrency = %q\ndate_format = %q\ntime_format = %q\n", m.delimiter, m.encoding, m.decimal, m.thousands, m.currency, m.date, m.clock)
	if m.title {
		common += "header_row = \"line\"\nremarks = [\"page *\"]\n"
	}
	receipts, cards := "[feed.receipts]\n"+common, "[feed.timecards]\n"+common
	if m.totalled {
		receipts += "footer = [\"Sum*\"]\ntotals = [\"boards\", \"freight_usd\"]\n"
	}
	if m.packed {
		receipts += "[feed.receipts.columns]\nboards = { packs = \"Bunks\", of = 7 }\n"
	}
	if m.apart {
		cards += "[feed.timecards.columns]\nstarted_at = { date = \"Day\", time = \"In\" }\nended_at = { date = \"Day\", time = \"Out\", after = \"started_at\" }\n"
	}
	return receipts + cards
}

func (m manner) number(text string) string {
	whole, decimals, _ := strings.Cut(text, ".")
	written := ""
	for len(whole) > 3 {
		whole, written = whole[:len(whole)-3], m.thousands+whole[len(whole)-3:]+written
	}
	written = whole + written
	if decimals != "" {
		written += m.decimal + decimals
	}
	return m.currency + written
}

func (m manner) day(at time.Time) string { return at.Format(m.dateLayout) }

func (m manner) text(rows [][]string) []byte {
	var text []byte
	if m.title {
		text = append(text, "Lumber and time\n\n\"printed\ntoday\"\n"...)
	}
	for i, row := range rows {
		text = append(appendDelimited(text, row, m.delimiter[0]), '\n')
		if m.title && i == 1 {
			text = append(text, "Page 2\n"...)
		}
	}
	switch m.encoding {
	case "utf-16":
		text, _ = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewEncoder().Bytes(text)
	case "windows-1252":
		text, _ = charmap.Windows1252.NewEncoder().Bytes(text)
	}
	return text
}

// TestReadingProperty: a random table that is written in a random manner lands as its
// canonical form does, bad cells and all; and a rejects file is refused as its rows were.
func TestReadingProperty(t *testing.T) {
	w := newTestWarehouse(t)
	// Each try lands up to five files.
	checks := flag.Lookup("rapid.checks")
	if given := checks.Value.String(); given == checks.DefValue {
		if err := checks.Value.Set("25"); err != nil {
			t.Fatal(err)
		}
		defer checks.Value.Set(given)
	}
	rapid.Check(t, func(t *rapid.T) {
		m := drawManner(t)
		canonical := [][][]string{{{"line", "vendor", "document", "received_on", "size", "species", "grade", "length", "boards", "freight_usd"}}, {{"line", "employee", "started_at", "ended_at"}}}
		own := [][][]string{{slices.Clone(canonical[0][0])}, {slices.Clone(canonical[1][0])}}
		if m.packed {
			own[0][0][8] = "Bunks"
		}
		if m.apart {
			own[1][0] = []string{"line", "employee", "Day", "In", "Out"}
		}
		freight, boards := 0, 0
		for i := range rapid.IntRange(0, 6).Draw(t, "rows") {
			at := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 200).Draw(t, "day"))
			packs, cents := rapid.IntRange(1, 300).Draw(t, "packs"), rapid.IntRange(0, 2_000_000).Draw(t, "cents")
			boards, freight = boards+packs, freight+cents
			size := rapid.SampledFrom([]string{"2x4", "2x6", "2 x 4", "two by four"}).Draw(t, "size")
			vendor := rapid.SampledFrom([]string{"Müller", "A;B", "A,B", "A|B", `A "B"`, "V1"}).Draw(t, "vendor")
			usd := fmt.Sprintf("%d.%02d", cents/100, cents%100)
			row := []string{fmt.Sprint(i), vendor, "P1", at.Format(time.DateOnly), size, "SPF", "No. 2", "12-00-00", fmt.Sprint(7 * packs), usd}
			canonical[0] = append(canonical[0], row)
			theirs := slices.Clone(row)
			theirs[3], theirs[9] = m.day(at), m.number(usd)
			if theirs[8] = m.number(row[8]); m.packed {
				theirs[8] = m.number(fmt.Sprint(packs))
			}
			if bad := rapid.IntRange(0, 5).Draw(t, "bad"); bad == 0 {
				row[3], theirs[3] = "someday", "someday"
			}
			own[0] = append(own[0], theirs)

			in := at.Add(time.Duration(rapid.IntRange(0, 1439).Draw(t, "in")) * time.Minute)
			out := in.Add(time.Duration(rapid.IntRange(1, 1439).Draw(t, "hours")) * time.Minute)
			canonical[1] = append(canonical[1], []string{fmt.Sprint(i), "E1", in.Format("2006-01-02 15:04"), out.Format("2006-01-02 15:04")})
			theirs = []string{fmt.Sprint(i), "E1", m.day(in) + " " + in.Format(m.clockLayout), m.day(out) + "  " + out.Format(m.clockLayout)}
			if m.apart {
				theirs = []string{fmt.Sprint(i), "E1", m.day(at), in.Format(m.clockLayout), out.Format(m.clockLayout)}
			}
			own[1] = append(own[1], theirs)
		}
		if m.totalled {
			sum := 7 * boards
			if m.packed {
				sum = boards
			}
			own[0] = append(own[0], []string{"Sum of all", "", "", "", "", "", "", "", m.number(fmt.Sprint(sum)), m.number(fmt.Sprintf("%d.%02d", freight/100, freight%100))})
		}
		plain := manner{delimiter: ","}
		wantReceipts, wantRows := w.landTables(t, nil, [][]byte{plain.text(canonical[0]), plain.text(canonical[1])})
		settings := settingsWith(w.t, m.rules())
		gotReceipts, gotRows := w.landTables(t, settings, [][]byte{m.text(own[0]), m.text(own[1])})
		if !slices.Equal(gotRows, wantRows) {
			t.Fatalf("rules\n%s\ngot  %q\nwant %q", m.rules(), gotRows, wantRows)
		}
		for i, got := range gotReceipts {
			want := wantReceipts[i]
			if got.Accepted != want.Accepted || got.Rejected != want.Rejected || got.Lines != got.Accepted+got.Rejected+got.Blank+got.Aside() {
				t.Fatalf("got %+v, want %+v", got, want)
			}
			if got.RejectsCSV == nil {
				continue
			}
			again, _ := w.landTables(t, settings, [][]byte{got.RejectsCSV, nil}[:1])
			if again[0].Rejected != got.Rejected || again[0].Accepted != 0 {
				t.Fatalf("the rejects file is read otherwise: %+v", again[0])
			}
			for k, p := range got.Problems {
				if again[0].Problems[k].What != p.What {
					t.Fatalf("%s, then %s", p.What, again[0].Problems[k].What)
				}
			}
		}
	})
}

// landTables lands a file of receipts and one of timecards in an empty warehouse and returns
// the receipts and all rows.
func (w *testWarehouse) landTables(t *rapid.T, settings *plant.Settings, texts [][]byte) ([]*Receipt, []string) {
	w.begin()
	w.settings = settings
	var receipts []*Receipt
	for i, text := range texts {
		path := filepath.Join(w.dir, []string{"receipts-1.csv", "timecards-1.csv"}[i])
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		receipt, err := w.landFile(path)
		if err != nil {
			t.Fatal(err)
		}
		receipts = append(receipts, receipt)
	}
	return receipts, append(w.rows("SELECT * EXCLUDE (import_id, import_line) FROM receipts ORDER BY ALL"), w.rows("SELECT * EXCLUDE (import_id, import_line) FROM timecards ORDER BY ALL")...)
}
