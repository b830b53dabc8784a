package ingest

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"trusstally/ingest/problem"
)

// codeOf returns the code word of an error that refuses a file, or its text.
func codeOf(err error) string {
	var list problem.List
	if errors.As(err, &list) {
		return list[0].Code
	}
	var p *problem.Problem
	if errors.As(err, &p) {
		return p.Code
	}
	if err != nil {
		return err.Error()
	}
	return ""
}

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "jobs-1.csv")
	if err := os.WriteFile(file, []byte("job,price_usd\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "jobs-link.csv")
	if err := os.Symlink(file, link); err != nil {
		t.Skipf("no links here: %v", err)
	}
	for path, want := range map[string]string{
		filepath.Join(dir, "jobs-none.csv"): CodeNoSuchFile,
		link:                                CodeNotAFile,
		dir:                                 CodeIsAFolder,
		filepath.Join(file, "jobs-2.csv"):   CodeCannotRead, // a folder of its path is a file
	} {
		_, err := openSource(path, "")
		if got := codeOf(err); got != want {
			t.Errorf("%s: %s, want %s", path, got, want)
		}
	}
}

func TestOpenNoticesChange(t *testing.T) {
	path := filepath.Join(t.TempDir(), "jobs-1.csv")
	if err := os.WriteFile(path, []byte("job,price_usd\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	from, err := openSource(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer from.file.Close()
	if err := os.WriteFile(path, []byte("job,price_usd\nJ1,100\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	text, err := from.text()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(io.Discard, text); err != nil {
		t.Fatal(err)
	}
	if got := codeOf(from.unchanged()); got != CodeFileChanged {
		t.Errorf("%q, want %s", got, CodeFileChanged)
	}
}

func TestBadEncodingNamesThePlace(t *testing.T) {
	long := strings.Repeat("x", 64<<10-3)
	for _, c := range []struct{ name, text, want string }{
		{"on the first line", "job\xff", "jobs-1.csv:1:4"},
		{"after characters of several bytes", "job\r\nJ1,é\x80", "jobs-1.csv:2:5"},
		{"after all kinds of line end", "a\rb\r\nc\nd\x92", "jobs-1.csv:4:2"},
		{"in a character cut off at the end", "job\nJ1\xc3", "jobs-1.csv:2:3"},
		{"in a character over two chunks", long + "éé\xe9", "jobs-1.csv:1:65536"},
		{"half a character of UTF-16", "\xff\xfej\x00o\x00b\x00\n\x00\x00\xd8x\x00", "jobs-1.csv:2:1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "jobs-1.csv")
			if err := os.WriteFile(path, []byte(c.text), 0o600); err != nil {
				t.Fatal(err)
			}
			_, err := openSource(path, "")
			var list problem.List
			if !errors.As(err, &list) || list[0].Code != CodeBadEncoding || list[0].Place != c.want {
				t.Errorf("%v, want [%s] at %s", err, CodeBadEncoding, c.want)
			}
		})
	}
}

// TestEncodings lands one text in every encoding that is taken, with every kind of line
// end in it, and expects the same rows with the same physical lines.
func TestEncodings(t *testing.T) {
	const text = "job,description,price_usd\r\nJ1,\"dépôt\r\nnorth\",100\rJ2,,200\n\nJ3, \u00a0x\u00a0 ,300"
	want := []string{"J1|dépôt\nnorth|2", "J2||4", "J3|x|6"}
	units := utf16.Encode([]rune("\ufeff" + text))
	little, big := make([]byte, 0, 2*len(units)), make([]byte, 0, 2*len(units))
	for _, u := range units {
		little = append(little, byte(u), byte(u>>8))
		big = append(big, byte(u>>8), byte(u))
	}
	w := newTestWarehouse(t)
	for name, file := range map[string]string{"UTF-8": text, "UTF-8 with a mark": "\ufeff" + text, "UTF-16, low byte first": string(little), "UTF-16, high byte first": string(big)} {
		t.Run(name, func(t *testing.T) {
			w.begin()
			receipt := w.mustLand("jobs-1.csv", file)
			if receipt.Lines != 4 || receipt.Blank != 1 || receipt.New != 3 {
				t.Errorf("lines %d, blank %d, new %d, want 4, 1, 3", receipt.Lines, receipt.Blank, receipt.New)
			}
			if got := w.rows("SELECT job, description, import_line FROM jobs ORDER BY ALL"); strings.Join(got, ";") != strings.Join(want, ";") {
				t.Errorf("%q, want %q", got, want)
			}
		})
	}
}
