package ingest

import (
	"fmt"
	"path/filepath"
	"strings"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

// FeedOfFile returns the feed that a file belongs to: the one whose pattern in plant.toml
// matches the file's base name, else the one with the longest name that the base name
// begins with, a mark or digit following. Patterns come first, for they are what the
// plant itself says. When no feed or more than one is meant, the error is a
// *problem.Problem that lists them.
func FeedOfFile(name string, rules map[string]plant.FeedRules) (Feed, error) {
	base := filepath.Base(name)
	var claimed []Feed
	for _, feed := range Feeds() {
		pattern := rules[feed.Name].Files
		if matched, err := filepath.Match(pattern, base); pattern != "" && err == nil && matched {
			claimed = append(claimed, feed)
		}
	}
	switch len(claimed) {
	case 0:
		return feedByPrefix(base)
	case 1:
		return claimed[0], nil
	default:
		names := feedNames(claimed)
		return Feed{}, &problem.Problem{
			Place: base, What: fmt.Sprintf("several feeds claim this file (%s)", strings.Join(names, ", ")), Code: CodeAmbiguousFeed,
			Hint: "narrow the patterns under [feed." + names[0] + "] and [feed." + names[1] + "] in plant.toml, or name the feed with --feed",
		}
	}
}

func feedByPrefix(base string) (Feed, error) {
	var longest Feed
	for _, feed := range Feeds() {
		rest, begins := strings.CutPrefix(strings.ToLower(base), feed.Name)
		if begins && rest != "" && strings.ContainsAny(rest[:1], "-_.0123456789") && len(feed.Name) > len(longest.Name) {
			longest = feed
		}
	}
	if longest.Name != "" {
		return longest, nil
	}
	names := feedNames(Feeds())
	hint := fmt.Sprintf("begin its name with the feed's, such as %s-2026-08.csv, or name the feed with --feed; the feeds are %s", names[0], strings.Join(names, ", "))
	stem := strings.ToLower(base)
	if end := strings.IndexAny(stem, "-.0123456789 "); end >= 0 {
		stem = stem[:end]
	}
	if near := problem.Nearest(stem, names); near != "" {
		hint = fmt.Sprintf("did you mean %s? %s", near, hint)
	}
	return Feed{}, &problem.Problem{Place: base, What: "the name of the file belongs to no feed", Code: CodeUnknownFeed, Hint: hint}
}

func feedNames(feeds []Feed) []string {
	names := make([]string, len(feeds))
	for i, feed := range feeds {
		names[i] = feed.Name
	}
	return names
}
