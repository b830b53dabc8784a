package workbook_test

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"runtime/debug"
	"slices"
	"strconv"
	"testing"

	"trusstally/reports/workbook"
)

// largeBook has so many rows of 12 columns: text, money, a ratio, times.
func largeBook(rows int) workbook.Book {
	columns := []workbook.Column{
		{Name: "job", Format: "text", Total: "count"}, {Name: "truss", Format: "text"}, {Name: "station", Format: "text"},
		{Name: "started_at", Format: "at"}, {Name: "on", Format: "on"}, {Name: "boards", Format: "count", Total: "sum"},
	}
	for _, name := range []string{"lumber", "labour", "plates", "revenue", "margin"} {
		columns = append(columns, workbook.Column{Name: name, Format: "usd", Total: "sum"})
	}
	columns = append(columns, workbook.Column{Name: "pct", Format: "pct", Total: "margin / revenue"})
	return sheetOf(workbook.Sheet{
		Name: "large", Title: "Large", Columns: columns,
		Rows: func(yield func([]any, error) bool) {
			row := make([]any, len(columns))
			start := day(2026, 1, 5)
			for i := range rows {
				row[0], row[1], row[2] = fmt.Sprintf("J-%06d", i/9), fmt.Sprintf("T%02d", i%9), "table 2"
				row[3], row[4] = start.AddDate(0, 0, i/500), start.AddDate(0, 0, i/500)
				row[5] = workbook.Number(strconv.Itoa(i % 40))
				for c := 6; c < 11; c++ {
					row[c] = cents(1 + (i*c*7919)%1_000_000)
				}
				row[11] = workbook.Number("0.1234")
				if !yield(row, nil) {
					return
				}
			}
		},
	})
}

func BenchmarkWrite100kRows(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if err := workbook.Write(io.Discard, largeBook(100_000)); err != nil {
			b.Fatal(err)
		}
	}
}

const (
	peakVariable = "WORKBOOK_PEAK_MEMORY"
	mostPeak     = 150 << 10 // KiB
)

// The peak is that of a process of its own, which the kernel keeps: nothing is sampled, and
// nothing that other tests hold is counted.
func TestPeakMemory(t *testing.T) {
	if os.Getenv(peakVariable) != "" {
		if err := workbook.Write(io.Discard, largeBook(100_000)); err != nil {
			t.Fatal(err)
		}
		status, err := os.ReadFile("/proc/self/status")
		if err != nil {
			t.Fatal(err)
		}
		fmt.Printf("%s\n", status)
		return
	}
	if _, err := os.Stat("/proc/self/status"); err != nil {
		t.Skip("the peak memory of a process is read from /proc")
	}
	if built, ok := debug.ReadBuildInfo(); ok && slices.Contains(built.Settings, debug.BuildSetting{Key: "-race", Value: "true"}) {
		t.Skip("the race detector needs several times the memory")
	}
	if testing.Short() {
		t.Skip("writes 100,000 rows")
	}
	binary, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	command := exec.CommandContext(t.Context(), binary, "-test.run=^TestPeakMemory$", "-test.count=1")
	command.Env = append(os.Environ(), peakVariable+"=1", "GOCOVERDIR="+t.TempDir())
	said, err := command.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	match := regexp.MustCompile(`VmHWM:\s*(\d+) kB`).FindSubmatch(said)
	if match == nil {
		t.Fatalf("no VmHWM in %s", said)
	}
	peak, err := strconv.Atoi(string(match[1]))
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("peak of 100,000 rows: %d MiB", peak>>10)
	if peak > mostPeak {
		t.Errorf("peak %d MiB, more than %d MiB", peak>>10, mostPeak>>10)
	}
}
