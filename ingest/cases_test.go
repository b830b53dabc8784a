package ingest

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/problem"
)

var update = flag.Bool("update", false, "rewrite the want.txt of every case")

// TestCases lands the files of each folder of testdata, in the order of their names, and
// compares all that a person would see with the folder's want.txt. Each folder is named
// for the code word that it is about, with -xlsx after it where it is about workbooks: what
// ends in .sheet describes one, as newWorkbook has it; and with -rules where it is about
// reading rules. These stand in rules.toml.
func TestCases(t *testing.T) {
	folders, err := filepath.Glob(filepath.Join("testdata", "*", "want.txt"))
	if *update {
		folders, err = filepath.Glob(filepath.Join("testdata", "*", "*.*"))
	}
	if err != nil || len(folders) == 0 {
		t.Fatalf("no cases: %v", err)
	}
	for i := range folders {
		folders[i] = filepath.Dir(folders[i])
	}
	w := newTestWarehouse(t)
	for _, folder := range slices.Compact(folders) {
		t.Run(filepath.Base(folder), func(t *testing.T) {
			w.begin()
			wantFile, rulesFile := filepath.Join(folder, "want.txt"), filepath.Join(folder, "rules.toml")
			w.settings = nil
			if rules, err := os.ReadFile(rulesFile); err == nil {
				w.settings = settingsWith(t, string(rules))
			}
			files, err := filepath.Glob(filepath.Join(folder, "*"))
			files = slices.DeleteFunc(files, func(file string) bool { return file == wantFile || file == rulesFile })
			if err != nil || len(files) == 0 {
				t.Fatalf("no files: %v", err)
			}
			var got bytes.Buffer
			for _, file := range files {
				printLanding(&got, w, file)
			}
			if *update {
				if err := os.WriteFile(wantFile, got.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(wantFile)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), got.String()); diff != "" {
				t.Errorf("want.txt differs (-want +got):\n%s", diff)
			}
			if code := "[" + strings.TrimSuffix(strings.TrimSuffix(filepath.Base(folder), "-xlsx"), "-rules") + "]"; !strings.Contains(got.String(), code) {
				t.Errorf("%s is not printed", code)
			}
		})
	}
}

// printLanding lands a file and writes what a person would see of it.
func printLanding(out *bytes.Buffer, w *testWarehouse, file string) {
	if base, described := strings.CutSuffix(filepath.Base(file), ".sheet"); described {
		text, err := os.ReadFile(file)
		if err != nil {
			w.t.Fatal(err)
		}
		file = filepath.Join(w.dir, base+".xlsx")
		if err := os.WriteFile(file, newWorkbook(w.t, string(text)), 0o600); err != nil {
			w.t.Fatal(err)
		}
	}
	receipt, err := w.landFile(file)
	var refused problem.List
	if errors.As(err, &refused) {
		fmt.Fprintf(out, "%s: refused\n", filepath.Base(file))
		refused.Print(out, false)
		return
	}
	if err != nil {
		w.t.Fatal(err)
	}
	receipt.Seconds = 0
	receipt.Print(out)
	receipt.Problems.Print(out, false)
	if receipt.RejectsCSV != nil {
		fmt.Fprintf(out, "rejects:\n%s", receipt.RejectsCSV)
	}
}

// TestEveryCodeWordIsShown holds the code words against the cases: each has one, or is
// named here with the test that brings it about.
func TestEveryCodeWordIsShown(t *testing.T) {
	elsewhere := map[string]string{
		CodeUnknownFeed:    "TestFeedOfFile",
		CodeAmbiguousFeed:  "TestFeedOfFile",
		CodeNoSuchFile:     "TestOpenRefuses",
		CodeNotAFile:       "TestOpenRefuses",
		CodeCannotRead:     "TestOpenRefuses",
		CodeFileChanged:    "TestOpenNoticesChange",
		CodeUnknownColumn:  "TestRulesAreChecked",
		CodeRowTooLong:     "TestRowTooLong",
		CodeArchiveMissing: "TestQuoteOfOtherCopies",
		CodeArchiveDiffers: "TestQuoteOfOtherCopies",
		CodeUnknownImport:  "TestUndo",
		CodeAlreadyUndone:  "TestUndo",
		CodeBuiltOn:        "TestUndo",
		CodeClosedWith:     "TestUndoOfClosedMonth",
	}
	file, err := parser.ParseFile(token.NewFileSet(), "codes.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(file, func(n ast.Node) bool {
		literal, ok := n.(*ast.BasicLit)
		if !ok {
			return true
		}
		code, err := strconv.Unquote(literal.Value)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := os.Stat(filepath.Join("testdata", code, "want.txt")); err != nil && elsewhere[code] == "" {
			t.Errorf("no case shows [%s]", code)
		}
		return true
	})
}
