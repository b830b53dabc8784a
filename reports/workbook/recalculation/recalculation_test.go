package recalculation

import (
	"bytes"
	"errors"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
)

// bookOf has formulas of A1 (20) and A2 (3) with these stored results.
func bookOf(t *testing.T, formulas []excelize.Cell) []byte {
	t.Helper()
	file := excelize.NewFile()
	stream, err := file.NewStreamWriter("Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	rows := [][]any{{20}, {3}}
	for _, formula := range formulas {
		rows = append(rows, []any{formula})
	}
	for i, row := range rows {
		cell, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			t.Fatal(err)
		}
		if err := stream.SetRow(cell, row); err != nil {
			t.Fatal(err)
		}
	}
	if err := stream.Flush(); err != nil {
		t.Fatal(err)
	}
	var buffer bytes.Buffer
	if err := file.Write(&buffer); err != nil {
		t.Fatal(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	return buffer.Bytes()
}

// Wrong results are found although the program would trust them, and only those.
func TestWrongResultsAreFound(t *testing.T) {
	if err := Available(); err != nil {
		if os.Getenv("CI") == "" && errors.Is(err, ErrNoProgram) {
			t.Skip(err)
		}
		t.Fatal(err)
	}
	book := bookOf(t, []excelize.Cell{
		{Formula: "A1+A2", Value: 23},
		{Formula: "A1-A2", Value: 17.01},
		{Formula: "A1/A2", Value: 6.6667},
		{Formula: "A1/A2", Value: 6.6668},
		{Formula: `IFERROR(A1/0,"")`, Value: ""},
		{Formula: `IFERROR(A1/0,"")`, Value: 1},
		{Formula: "A1*A2"}, // no result is a wrong one too
	})
	recalculated, err := Recalculate(t.Context(), t.TempDir(), book)
	if err != nil {
		t.Fatal(err)
	}
	differences, formulas, err := Compare(book, recalculated, 4)
	if err != nil {
		t.Fatal(err)
	}
	want := []Difference{
		{"Sheet1", "A4", "A1-A2", "17.01", "17"},
		{"Sheet1", "A6", "A1/A2", "6.6668", "6.66666666666667"},
		{"Sheet1", "A8", `IFERROR(A1/0,"")`, "1", ""},
		{"Sheet1", "A9", "A1*A2", "", "60"},
	}
	if diff := cmp.Diff(want, differences); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if formulas != 7 {
		t.Errorf("%d formulas compared, want 7", formulas)
	}
}

func TestAgree(t *testing.T) {
	for _, test := range []struct {
		name                          string
		stored, recalculated, formula string
		want                          bool
	}{
		{"equal", "23", "23", "A1+A2", true},
		{"binary sum", "0.3", "0.30000000000000004", "A1+A2", true},
		{"a cent off", "1000000.01", "1000000.02", "A1+A2", false},
		{"rounded ratio", "0.3333", "0.333333333", "A1/A2", true},
		{"another ratio", "0.3334", "0.333333333", "A1/A2", false},
		{"rounded sum", "0.3333", "0.333333333", "A1+A2", false},
		{"blank", "", "", "A1/A2", true},
		{"blank against zero", "", "0", "A1/A2", false},
		{"error", "1", "#DIV/0!", "A1/A2", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := agree(test.stored, test.recalculated, test.formula, 4); got != test.want {
				t.Errorf("agree(%q, %q) = %v", test.stored, test.recalculated, got)
			}
		})
	}
}
