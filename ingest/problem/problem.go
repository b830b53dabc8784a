package problem

import (
	"fmt"
	"io"
	"sort"
	"strconv"
	"strings"
	"unicode"
)

// Problem is one thing wrong, told so that the reader can mend it.
type Problem struct {
	Place string // file:line:column, file, or "" where there is none
	What  string // what is wrong, lower case, with the value in brackets
	Code  string // stable code word of hyphenated parts
	Row   string // the row as it stands, or ""
	Hint  string // what to do, or ""
	Group string // problems of one Code and Group are capped together; usually the column
	Usage bool   // the command was used wrongly (exit 2), rather than the data being wrong (exit 1)
	Cause error  // the engine's or system's own error, for --verbose; may be nil
}

// Error returns the first line of the problem.
func (p *Problem) Error() string {
	text := p.What
	if p.Place != "" {
		text = p.Place + ": " + text
	}
	return text + " [" + p.Code + "]"
}

// Unwrap returns the underlying error.
func (p *Problem) Unwrap() error { return p.Cause }

// List is several problems that are reported together; it is an error when not empty.
type List []*Problem

// Error returns a one-line summary.
func (l List) Error() string {
	if len(l) == 1 {
		return l[0].Error()
	}
	return fmt.Sprintf("%s (and %d more)", l[0].Error(), len(l)-1)
}

// shownOfEach is how many problems of one code and column are printed in full.
const shownOfEach = 5

// Print writes all problems, grouped by code and column in order of first appearance,
// each group capped at five with its total.
func (l List) Print(w io.Writer, verbose bool) {
	type key struct{ code, group string }
	order := []key{}
	groups := map[key][]*Problem{}
	for _, p := range l {
		k := key{p.Code, p.Group}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], p)
	}
	for _, k := range order {
		group := groups[k]
		shown := min(len(group), shownOfEach)
		hints := map[string]bool{}
		for _, p := range group[:shown] {
			fmt.Fprintln(w, Plain(p.Error()))
			if p.Row != "" {
				for _, line := range strings.Split(p.Row, "\n") {
					fmt.Fprintln(w, "  "+Plain(line))
				}
			}
			if p.Hint != "" && !hints[p.Hint] {
				fmt.Fprintln(w, "hint: "+Plain(p.Hint))
				hints[p.Hint] = true
			}
			if verbose && p.Cause != nil {
				fmt.Fprintln(w, "cause: "+p.Cause.Error())
			}
		}
		if rest := len(group) - shown; rest > 0 {
			fmt.Fprintf(w, "… and %d more of [%s]", rest, k.code)
			if k.group != "" {
				fmt.Fprintf(w, " in %s", k.group)
			}
			fmt.Fprintf(w, ", %d in all\n", len(group))
		}
	}
}

// Plain is a text as one line of a terminal may show it. A file's name and its cells come from
// others: what would move the cursor, ring, hide or turn round what is printed stands there as
// its escape, \x1b or \u202e, and so does a line end.
func Plain(text string) string {
	var plain strings.Builder
	for _, r := range text {
		switch {
		case r == '\t' || unicode.IsPrint(r) || unicode.Is(unicode.Zs, r):
			plain.WriteRune(r)
		default:
			quoted := strconv.QuoteRune(r)
			plain.WriteString(quoted[1 : len(quoted)-1])
		}
	}
	return plain.String()
}

// Nearest returns the valid name closest to the given one, or "" when none is close
// (more than two edits, or more than a third of its letters).
func Nearest(name string, valid []string) string {
	sorted := append([]string(nil), valid...)
	sort.Strings(sorted)
	best, bestDistance := "", 3
	for _, candidate := range sorted {
		d := editDistance(strings.ToLower(name), strings.ToLower(candidate))
		if d < bestDistance && 3*d <= max(len(name), len(candidate)) {
			best, bestDistance = candidate, d
		}
	}
	return best
}

// editDistance is the number of single-letter insertions, deletions, substitutions and
// swaps of neighbours that turn a into b (optimal string alignment).
func editDistance(a, b string) int {
	before, previous := make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range previous {
		previous[j] = j
	}
	for i := 1; i <= len(a); i++ {
		current := make([]int, len(b)+1)
		current[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			current[j] = min(previous[j]+1, current[j-1]+1, previous[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				current[j] = min(current[j], before[j-2]+1)
			}
		}
		before, previous = previous, current
	}
	return previous[len(b)]
}
