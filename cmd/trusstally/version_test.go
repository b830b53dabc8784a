package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// TestVersion: the engine that version names is the one that answers a SELECT, and a plant
// is neither needed nor touched.
func TestVersion(t *testing.T) {
	w, err := warehouse.Open(context.Background(), "")
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	var engine string
	if err := w.DB.QueryRow("SELECT library_version FROM pragma_version()").Scan(&engine); err != nil {
		t.Fatal(err)
	}
	engine = strings.TrimPrefix(engine, "v")

	// A warehouse that can't be opened, in a plant without settings.
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, warehouse.FileName), []byte("no database"), 0o600); err != nil {
		t.Fatal(err)
	}
	run := func(arguments ...string) string {
		t.Helper()
		var out, errs bytes.Buffer
		if code := runAt(append([]string{"version", "--plant", dir}, arguments...), strings.NewReader(""), &out, &errs, testNow); code != exitFine || errs.Len() > 0 {
			t.Fatalf("exit %d: %s", code, &errs)
		}
		return out.String()
	}
	want := regexp.MustCompile(`^trusstally ` + regexp.QuoteMeta(reports.Version) + "\ncommit   .+\nengine   DuckDB " + regexp.QuoteMeta(engine) + "\nbuilt    go1.* for [a-z]+/[a-z0-9]+\n$")
	if got := run(); !want.MatchString(got) {
		t.Errorf("%q is not %s", got, want)
	}
	var v versions
	if err := json.Unmarshal([]byte(run("--json")), &v); err != nil || v.Version != reports.Version || v.Engine != engine {
		t.Errorf("%+v (%v), want %s on engine %s", v, err, reports.Version, engine)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Errorf("version left %v (%v)", left, err)
	}
}
