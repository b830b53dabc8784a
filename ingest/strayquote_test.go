package ingest

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestRejectsInTheManner: whatever parts the cells of a plant's files, refused rows are
// written likewise behind the reject columns, a stray quote and the blanks about it as they
// stand; read again as they are they are refused again, each as itself, and mended they
// go in.
func TestRejectsInTheManner(t *testing.T) {
	// | stands for the mark between cells.
	const file = "job|price_usd|description\n" +
		"J1|100|sound\n" +
		"J2|x|a, b; c\n" +
		"\"J3\" |300|a blank after the quote\n" +
		"J4|400|\"12\" overhang\n" +
		"J5|500|\"a \"\" b\" c \"d\" \n" +
		"J6|600|\"two\nlines\" more\n" +
		"J7|700|\"\"empty\n" +
		"J8|800|\"=1+1\" run|one too many\n" +
		"J9|900|fine|\"6\" wide\n" +
		"J10|1000|\" =2\" wide\n"
	const want = "reject_import|reject_line|reject_column|reject_reason|job|price_usd|description\n" +
		"1|3|price_usd|price_usd: not a number (x) [bad-number]|J2|x|a, b; c\n" +
		"1|4||STRAY|\"J3\" |300|a blank after the quote\n" +
		"1|5||STRAY|J4|400|\"12\" overhang\n" +
		"1|6||STRAY|J5|500|\"a \"\" b\" c \"d\" \n" +
		"1|7||STRAY, and a quote in it takes in the 1 line after it|J6|600|\"two\nlines\" more\n" +
		"1|9||STRAY|J7|700|\"\"empty\n" +
		"1|10||STRAY|J8|800|\"'=1+1\" run|one too many\n" +
		"1|11||STRAY|J9|900|fine|\"6\" wide\n" +
		"1|12||STRAY|J10|1000|\"'=2\" wide\n"
	for mark, name := range delimiterNames() {
		t.Run(name, func(t *testing.T) {
			w := newTestWarehouse(t)
			w.settings = settingsWith(t, fmt.Sprintf("[feed.jobs]\ndelimiter = %q\n", string(mark)))
			in := func(text string) string {
				lines := strings.SplitAfter(text, "\n")
				for i, line := range lines {
					if !strings.Contains(line, "a, b; c") {
						lines[i] = strings.ReplaceAll(line, "|", string(mark))
						continue
					}
					words := `"a, b; c"`
					if mark != ',' && mark != ';' {
						words = "a, b; c"
					}
					lines[i] = strings.ReplaceAll(strings.ReplaceAll(line, "|", string(mark)), "a, b; c", words)
				}
				return strings.Join(lines, "")
			}
			reason := func(text string) string {
				const words = "text follows a closing quote"
				for _, more := range []string{", and a quote in it takes in the 1 line after it", ""} {
					whole := words + more + " [stray-quote]"
					if more != "" && mark == ',' {
						whole = `"` + whole + `"`
					}
					text = strings.ReplaceAll(text, "STRAY"+more, whole)
				}
				return text
			}
			first := w.mustLand("jobs-1.csv", in(file))
			if diff := cmp.Diff(reason(in(want)), string(first.RejectsCSV)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
			again := w.mustLand("jobs-1-import1.csv", string(first.RejectsCSV))
			if again.Accepted != 0 || again.Rejected != first.Rejected {
				t.Fatalf("of %d refused rows %d are taken and %d refused again", first.Rejected, again.Accepted, again.Rejected)
			}
			cut := func(rejects []byte) []string { // each row without its names
				var rows []string
				for _, row := range strings.Split(string(rejects), "\n") {
					cells := strings.SplitN(row, string(mark), 3)
					rows = append(rows, cells[len(cells)-1])
				}
				return rows
			}
			if diff := cmp.Diff(cut(first.RejectsCSV), cut(again.RejectsCSV)); diff != "" {
				t.Errorf("read and refused again, -first +again:\n%s", diff)
			}
			var mended strings.Builder
			mended.WriteString(in("reject_import|reject_line|job|price_usd\n"))
			for i, line := range w.rows("SELECT line FROM refused_rows WHERE import_id = 2 ORDER BY line") {
				fmt.Fprintf(&mended, in("2|%s|J%d|%d00\n"), line, i+2, i+2)
			}
			third := w.mustLand("jobs-1-import2.csv", mended.String())
			if third.Settled != first.Rejected || third.New != first.Rejected {
				t.Errorf("%d settled and %d new, want %d", third.Settled, third.New, first.Rejected)
			}
			if open := w.rows("SELECT import_id, line FROM refused_rows WHERE state = 'open'"); len(open) > 0 {
				t.Errorf("still open: %q", open)
			}
		})
	}
}
