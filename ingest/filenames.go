package ingest

import (
	"fmt"
	"path/filepath"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"trusstally/ingest/plant"
)

// longestStem bounds, in bytes, what a rejects file takes of the name of its file: with the
// feed, the import and the ending it fits every system.
const longestStem = 120

// plainEnding is an ending that a copy in archive/ keeps.
var plainEnding = regexp.MustCompile(`^\.[a-z0-9]{1,8}$`)

// ArchiveName is the name of a file's copy in archive/: its SHA-256, and its own ending where
// that is a plain one. Whatever the file is called, the name is one of that folder.
func ArchiveName(fileName, sha256 string) string {
	ending := strings.ToLower(filepath.Ext(fileName))
	if !plainEnding.MatchString(ending) {
		return sha256
	}
	return sha256 + ending
}

// RejectsName is the name of the file in rejects/ for what an import refused of a file. It
// says the feed as the name of the file did, else it begins with the feed's: what has other
// rules for its name, or got its feed by --feed, must be known when it comes back. Characters
// that part paths, that a system forbids or a terminal would obey are underscores.
func RejectsName(fileName string, feed Feed, importID int64, rules map[string]plant.FeedRules) string {
	name := fmt.Sprintf("%s-import%d.csv", plainStem(fileName), importID)
	if known, err := FeedOfFile(name, rules); err != nil || known.Name != feed.Name {
		return feed.Name + "-" + name
	}
	return name
}

// plainStem is the name of a file without its ending, fit to be part of another name.
func plainStem(fileName string) string {
	stem := strings.TrimSuffix(filepath.Base(fileName), filepath.Ext(fileName))
	stem = strings.Map(func(r rune) rune {
		if r == utf8.RuneError || !unicode.IsPrint(r) || strings.ContainsRune(`\/:*?"<>|`, r) {
			return '_'
		}
		return r
	}, stem)
	if len(stem) > longestStem {
		end := longestStem
		for !utf8.RuneStart(stem[end]) {
			end--
		}
		stem = stem[:end]
	}
	return strings.TrimLeft(stem, ".")
}
