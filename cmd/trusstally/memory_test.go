package main

import (
	"bytes"
	"strings"
	"testing"
)

// TestLandingOutOfMemory: what doesn't fit the bound of memory while files are read is read
// without it, once more from the beginning.
func TestLandingOutOfMemory(t *testing.T) {
	plain := newTestPlant(t, testSettings, nil)
	tight := newTestPlant(t, testSettings, nil)
	var rows strings.Builder
	rows.WriteString("job,truss,piece,size,species,grade,length,pieces_per_ply\n")
	for n := range 20000 {
		rows.WriteString("J1,T1,P" + strings.Repeat("7", 20) + string(rune('A'+n%26)) + strings.Repeat("x", n/26%97) + strings.Repeat("y", n/2522) + ",2x4,SPF,No. 2,12-06-08,2\n")
	}
	attempts := 0
	for _, p := range []*testPlant{plain, tight} {
		p.write("cut_pieces.csv", rows.String())
		var out, errs bytes.Buffer
		program := &program{stdin: strings.NewReader(""), stdout: &out, stderr: &errs, now: testNow}
		if p == tight {
			program.boundMiB = func(int) int { attempts++; return 4 }
		}
		if code := program.run([]string{"import", p.dir + "/cut_pieces.csv", "--plant", p.dir}); code != exitFine {
			t.Fatalf("import: exit %d\n%s", code, errs.String())
		}
	}
	if attempts == 0 {
		t.Error("memory was never bound")
	}
	count := "SELECT count(*) AS n, sum(hash(c)::HUGEINT)::VARCHAR AS sum FROM cut_pieces AS c"
	if a, b := asText(plain.query(count)[0]["sum"]), asText(tight.query(count)[0]["sum"]); a != b || a == "" {
		t.Errorf("other rows without memory: %s and %s", a, b)
	}
}
