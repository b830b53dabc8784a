package ingest

import (
	"errors"
	"testing"

	"trusstally/ingest/problem"
)

func TestParseSize(t *testing.T) {
	for _, c := range []struct {
		text             string
		want             string
		thickness, width int64 // quarters of an inch
	}{
		{"2x4", "2x4", 8, 16}, {"2 x 4", "2x4", 8, 16}, {"2X4", "2x4", 8, 16}, {"2×10", "2x10", 8, 40}, {"1x6", "1x6", 4, 24},
		{"5/4x6", "5/4x6", 5, 24}, {"5/4 X 6", "5/4x6", 5, 24}, {"3/4x12", "3/4x12", 3, 48}, {"1/2x4", "1/2x4", 2, 16}, {"24x24", "24x24", 96, 96},
	} {
		got, err := ParseSize(c.text)
		if err != nil || got != c.want {
			t.Errorf("ParseSize(%q) = %q, %v, want %q", c.text, got, err, c.want)
		}
		thickness, width, err := SizeQuarters(c.text)
		if err != nil || thickness != c.thickness || width != c.width {
			t.Errorf("SizeQuarters(%q) = %d, %d, %v, want %d, %d", c.text, thickness, width, err, c.thickness, c.width)
		}
	}
}

func TestParseSizeRefuses(t *testing.T) {
	for _, text := range []string{"", "2", "x4", "2x", "2x4x6", "0x4", "2x0", "02x4", "2.5x4", "1.5x3.5", "2x25", "25x4", "5/3x6", "-2x4", "2by4", "2 4", "2\tx4"} {
		got, err := ParseSize(text)
		var p *problem.Problem
		if !errors.As(err, &p) || p.Code != CodeBadSize || p.Hint == "" {
			t.Errorf("ParseSize(%q) = %q, %v, want [%s] with a hint", text, got, err, CodeBadSize)
		}
	}
}

func FuzzSize(f *testing.F) {
	for _, text := range []string{"2x4", "5/4 X 6", "1x6", "2x26", "x"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		size, err := ParseSize(text)
		if err != nil {
			return
		}
		if again, err := ParseSize(size); err != nil || again != size {
			t.Fatalf("ParseSize(%q) = %q, read again %q, %v", text, size, again, err)
		}
		thickness, width, err := SizeQuarters(size)
		if err != nil || thickness <= 0 || width <= 0 || thickness > widestQuarters || width > widestQuarters {
			t.Fatalf("SizeQuarters(%q) = %d, %d, %v", size, thickness, width, err)
		}
	})
}
