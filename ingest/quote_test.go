package ingest

import (
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/problem"
)

// copyOf is a file of that text as if it had been read before.
func copyOf(t *testing.T, name string, data []byte) Copy {
	t.Helper()
	sum := fmt.Sprintf("%x", sha256.Sum256(data))
	path := filepath.Join(t.TempDir(), sum+filepath.Ext(name))
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return Copy{Name: name, SHA256: sum, Path: path}
}

func utf16Bytes(text string) []byte {
	data := []byte{0xff, 0xfe}
	for _, unit := range utf16.Encode([]rune(text)) {
		data = append(data, byte(unit), byte(unit>>8))
	}
	return data
}

func TestQuote(t *testing.T) {
	pay := func(c Column) bool { return c.Wage }
	opts := Options{Zone: time.UTC, Columns: map[string]string{"rate_usd": "Base"}}
	for _, c := range []struct {
		name, feed, file string
		data             []byte
		hide             func(Column) bool
		want             map[int64]Quoted
	}{
		{"as written", "jobs", "jobs.csv", []byte("job,description\nJ1, \"a, b\" \nJ2,\"two\r\nlines\"\nJ3,\n"), nil, map[int64]Quoted{
			2: {"jobs.csv:2", `J1, "a, b" `}, 3: {"jobs.csv:3", "J2,\"two\nlines\""}, 5: {"jobs.csv:5", "J3,"}}},
		{"mixed line ends, none at the end", "jobs", "jobs.csv", []byte("\ufeffjob,price_usd\rJ1,1\r\n\r\nJ2,2"), pay, map[int64]Quoted{2: {"jobs.csv:2", "J1,1"}, 4: {"jobs.csv:4", "J2,2"}}},
		{"UTF-16", "jobs", "jobs.csv", utf16Bytes("job,description\r\nJ1,Träger\r\n"), nil, map[int64]Quoted{2: {"jobs.csv:2", "J1,Träger"}}},
		{"pay under the plant's own header", "wages", "wages.csv", []byte("employee,effective_on,role,Base,Extra\nE1,2026-01-01,direct,20,\nE2,2026-01-01,direct,21.5,3 %\n"), pay, map[int64]Quoted{
			2: {"wages.csv:2", "E1,2026-01-01,direct,•••,"}, 3: {"wages.csv:3", "E2,2026-01-01,direct,•••,•••"}}},
		{"pay when the header row is not known any more", "wages", "wages.csv", []byte("who,since,role,rate\nE1,2026-01-01,direct,20\n"), pay, map[int64]Quoted{2: {"wages.csv:2", "•••"}}},
		{"pay that may be seen", "wages", "wages.csv", []byte("who,since,role,rate\nE1,2026-01-01,direct,20\n"), nil, map[int64]Quoted{2: {"wages.csv:2", "E1,2026-01-01,direct,20"}}},
		{"a sheet", "wages", "pay.xlsx", newWorkbook(t, "sheet Rates\nemployee | effective_on | role | rate_usd\n\nE1 | date 46023 | direct | n 20\n"), pay, map[int64]Quoted{3: {"pay.xlsx!Rates!3", "E1,2026-01-01,direct,•••"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			feed, _ := FeedByName(c.feed)
			var lines []int64
			for line := range c.want {
				lines = append(lines, line)
			}
			got, err := Quote(copyOf(t, c.file, c.data), feed, opts, c.hide, lines)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestQuoteOfOtherCopies(t *testing.T) {
	feed, _ := FeedByName("jobs")
	whole := copyOf(t, "jobs.csv", []byte("job,price_usd\nJ1,1\n"))
	gone, changed := whole, whole
	gone.Path += "x"
	changed.SHA256 = strings.Repeat("0", 64)
	for _, c := range []struct {
		from Copy
		line int64
		code string
	}{{gone, 2, CodeArchiveMissing}, {changed, 2, CodeArchiveDiffers}, {whole, 3, CodeArchiveDiffers}} {
		_, err := Quote(c.from, feed, Options{Zone: time.UTC}, nil, []int64{c.line})
		list, ok := err.(problem.List)
		if !ok || list[0].Code != c.code || !strings.HasPrefix(list[0].Place, "jobs.csv") {
			t.Errorf("line %d: %v, want [%s]", c.line, err, c.code)
		}
	}
}
