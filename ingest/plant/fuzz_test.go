package plant

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"trusstally/ingest/problem"
)

// FuzzParse: any plant.toml is read, with a zone and a hash, or refused with problems of
// wrong use, each with its place and code word.
func FuzzParse(f *testing.F) {
	blank, err := os.ReadFile(filepath.Join("..", "..", "cmd", "trusstally", "plant.toml"))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(blank)
	for _, text := range []string{
		"[plant]\nname = \"Mill\"\ntimezone = \"America/Chicago\"\n[[station]]\ncode = \"T1\"\nkind = \"table\"\n",
		"[plant]\nname = \"Mill\"\ntimezone = \"../../etc/passwd\"\n", "[pay]\nmultiplier = nan\nburden_pct = inf\n",
		"[lumber]\nkerf_in = 1e308\nremnant_min = \"9999999-99-99\"\n[lumber.packs]\n\"2x4\" = -9223372036854775808\n",
		"[feed.jobs]\nfiles = \"[\"\n[feed.\"'; DROP TABLE jobs\"]\n", "[[change]]\non = 0000-00-00\n", "plant = 1\n", "[plant\n", "\x00", "a.b.c.d = {}\n",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		settings, err := Parse(text, []string{"jobs", "timecards"})
		if err == nil {
			if settings.Zone == nil || len(settings.Hash) != 64 || settings.Name == "" {
				t.Fatalf("read as %+v", settings)
			}
			return
		}
		var list problem.List
		if !errors.As(err, &list) || len(list) == 0 {
			t.Fatalf("refused with %v, which is no list of problems", err)
		}
		for _, p := range list {
			if p.Code == "" || p.Place == "" || p.What == "" || !p.Usage {
				t.Fatalf("refused with %+v", p)
			}
		}
	})
}
