package ingest

import (
	"errors"
	"testing"

	"trusstally/ingest/problem"
)

func TestParseLength(t *testing.T) {
	for _, c := range []struct {
		text string
		want int64
	}{
		// Feet-inches-sixteenths is an open convention of the trade.
		{"12-06-08", 2408}, {"4-7-12", 892}, {"0-00-00", 0}, {"0-00-01", 1}, {"12-11-15", 2495}, {"1000-00-00", 192000},
		{"12", 2304}, {"12.5", 2400}, {"12.50", 2400}, {"0.0625", 12},
		{"12'", 2304}, {`6"`, 96}, {`12' 6"`, 2400}, {`12'6"`, 2400}, {`12'-6"`, 2400}, {`12' - 6"`, 2400}, {`12'6 1/2"`, 2408}, {`12' 6-1/2"`, 2408},
		{`12'1/2"`, 2312}, {`12' 1/2"`, 2312}, {`7/8"`, 14}, {`11 15/16"`, 191}, {`0'6"`, 96},
		{"12′6″", 2400}, {"12’6 1/2”", 2408}, {"12'6''", 2400},
	} {
		got, err := ParseLength(c.text)
		if err != nil || got != c.want {
			t.Errorf("ParseLength(%q) = %d, %v, want %d", c.text, got, err, c.want)
		}
	}
}

func TestParseLengthRefuses(t *testing.T) {
	for _, text := range []string{
		"", " ", "12-06-16", "12-12-00", "12-06", "12-06-08-00", "-12-06-08", "12-6.5-0", "1001-00-00", "12,5", "12.", ".5", "12.33", "12.0052083333",
		"-12", "1e2", `12'12"`, `14"`, `-6"`, `'`, `"`, `12'6`, `12'6 1/3"`, `12'6 4/4"`, `12'6 0/2"`, `12'6 1/32"`, "12ft", "12x6", "١٢",
	} {
		got, err := ParseLength(text)
		var p *problem.Problem
		if !errors.As(err, &p) || p.Code != CodeBadLength || p.Hint == "" {
			t.Errorf("ParseLength(%q) = %d, %v, want [%s] with a hint", text, got, err, CodeBadLength)
		}
	}
}

func TestFormatLength(t *testing.T) {
	for sixteenths, want := range map[int64]string{0: "0-00-00", 2408: "12-06-08", 15: "0-00-15", -192: "-1-00-00"} {
		if got := FormatLength(sixteenths); got != want {
			t.Errorf("FormatLength(%d) = %s, want %s", sixteenths, got, want)
		}
	}
}

func FuzzLength(f *testing.F) {
	for _, text := range []string{"12-06-08", "12.5", `12'6 1/2"`, `6"`, "12'", "12-06-16"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		sixteenths, err := ParseLength(text)
		if err != nil {
			return
		}
		if sixteenths < 0 || sixteenths >= (longestFeet+1)*sixteenthsPerFoot {
			t.Fatalf("ParseLength(%q) = %d, out of bounds", text, sixteenths)
		}
		if again, err := ParseLength(FormatLength(sixteenths)); err != nil || again != sixteenths {
			t.Fatalf("ParseLength(%q) = %d, written and read again %d, %v", text, sixteenths, again, err)
		}
	})
}
