package ingest

import (
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"trusstally/ingest/plant"
)

func TestArchiveName(t *testing.T) {
	for name, want := range map[string]string{
		"jobs-1.csv": "hash.csv", "jobs-1.XLSX": "hash.xlsx", "jobs-1": "hash", "jobs-1.": "hash",
		`jobs-1.csv\..\x`: "hash", "jobs-1.c sv": "hash", "jobs-1." + strings.Repeat("x", 200): "hash", "jobs-1.\x1b[2J": "hash",
	} {
		if got := ArchiveName(name, "hash"); got != want {
			t.Errorf("ArchiveName(%q) = %q, want %q", name, got, want)
		}
	}
}

func TestRejectsName(t *testing.T) {
	rules := map[string]plant.FeedRules{"timecards": {Files: "clock-*.xlsx"}, "wages": {Files: "pay*"}}
	for _, c := range []struct{ name, feed, want string }{
		{"jobs-1.csv", "jobs", "jobs-1-import7.csv"},
		{"jobs-1-import3.csv", "jobs", "jobs-1-import3-import7.csv"},
		{"clock-3.xlsx", "timecards", "timecards-clock-3-import7.csv"},
		{"paylist.csv", "wages", "paylist-import7.csv"},
		{"notes.csv", "jobs", "jobs-notes-import7.csv"},
		{"CON.csv", "jobs", "jobs-CON-import7.csv"},
		{`jobs-..\..\x.csv`, "jobs", "jobs-.._.._x-import7.csv"},
		{"jobs-\x1b[2J\n.csv", "jobs", "jobs-_[2J_-import7.csv"},
		{"jobs-\xff.csv", "jobs", "jobs-_-import7.csv"},
		{"jobs-\u202evsc.csv", "jobs", "jobs-_vsc-import7.csv"},
		{"jobs-" + strings.Repeat("é", 110) + ".csv", "jobs", "jobs-" + strings.Repeat("é", 57) + "-import7.csv"},
		{"...csv", "jobs", "jobs--import7.csv"},
	} {
		feed, _ := FeedByName(c.feed)
		if got := RejectsName(c.name, feed, 7, rules); got != c.want {
			t.Errorf("RejectsName(%q) = %q, want %q", c.name, got, c.want)
		}
	}
}

// FuzzFileNames: whatever a file is called, its copies are plain files of their folders, and
// the rejects file tells its feed.
func FuzzFileNames(f *testing.F) {
	for i, name := range []string{"jobs-1.csv", `..\..\x.csv`, "jobs-/../x", "wages'; DROP TABLE wages;--.csv", "\xff", ".", "..", "", strings.Repeat("jobs", 80)} {
		f.Add(name, byte(i))
	}
	feeds := Feeds()
	f.Fuzz(func(t *testing.T, name string, pick byte) {
		feed := feeds[int(pick)%len(feeds)]
		for _, made := range []string{ArchiveName(name, strings.Repeat("0", 64)), RejectsName(name, feed, 1<<40, nil)} {
			if filepath.Base(made) != made || strings.ContainsAny(made, `\/`) || !filepath.IsLocal(made) || len(made) > 200 || !utf8.ValidString(made) || strings.HasPrefix(made, ".") {
				t.Fatalf("%q becomes %q", name, made)
			}
		}
		if known, err := FeedOfFile(RejectsName(name, feed, 3, nil), nil); err != nil || known.Name != feed.Name {
			t.Fatalf("%q becomes %q, of feed %s (%v), want %s", name, RejectsName(name, feed, 3, nil), known.Name, err, feed.Name)
		}
	})
}
