package main

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"

	"trusstally/sql/warehouse"
)

// The pages of `help errors` are written from three things that exist already: the
// constants of each package's codes.go with their remarks (for a check its file and first
// line), the failing fixtures, and what these print. Tests here hold all three and the pages together.

// codePackages are the folders whose messages end in code words. Where two of them use one
// word, the first declares it.
var codePackages = []string{"../../ingest", "../../ingest/plant", ".", "../../sql/warehouse", "../../reports"}

// TestErrorPages holds the embedded pages against the fixtures; with -update it writes them
// and deletes those of words that are gone.
func TestErrorPages(t *testing.T) {
	declared := declaredWords(t)
	want := map[string]string{}
	for _, word := range append(declared, checkWords(t)...) {
		page, err := pageOf(word)
		if err != nil {
			t.Error(err)
			continue
		}
		want[word.code] = page
	}
	if t.Failed() {
		return
	}
	if *update {
		writePages(t, want) // the program embeds them the next time it is built
		return
	}
	pages, err := readErrorPages()
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, page := range pages {
		got[page.Code] = page.Text
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("help/errors is not what the fixtures print (-want +got); write it anew with -update:\n%s", diff)
	}
}

// TestEveryPackageWithWords: a package that declares code words is one whose words have pages.
func TestEveryPackageWithWords(t *testing.T) {
	var found []string
	err := filepath.WalkDir("../..", func(path string, entry fs.DirEntry, err error) error {
		if err == nil && entry.Name() == "codes.go" {
			found = append(found, filepath.ToSlash(filepath.Dir(path)))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, folder := range found {
		if folder == "../../cmd/trusstally" {
			found[i] = "."
		}
	}
	want := slices.Sorted(slices.Values(codePackages))
	slices.Sort(found)
	if diff := cmp.Diff(want, found); diff != "" {
		t.Errorf("folders with a codes.go (-codePackages +found):\n%s", diff)
	}
}

func writePages(t *testing.T, pages map[string]string) {
	t.Helper()
	folder := filepath.Join("help", "errors")
	if err := os.RemoveAll(folder); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	for code, text := range pages {
		if err := os.WriteFile(filepath.Join(folder, code+".txt"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestCodeWords holds the sources against the constants: a word in a message is declared in
// a codes.go, and a declared word is in a message.
func TestCodeWords(t *testing.T) {
	names, literals := map[string]bool{}, map[string]string{}
	for _, folder := range codePackages {
		for _, file := range sourceFiles(t, folder) {
			wordsUsed(t, file, names, literals)
		}
	}
	declared := map[string]bool{}
	for _, word := range declaredWords(t) {
		declared[word.code] = true
		if _, spelt := literals[word.code]; !names[word.name] && !spelt {
			t.Errorf("%s: no message has the word %s", word.file, word.code)
		}
	}
	for code, file := range literals {
		if !declared[code] {
			t.Errorf("%s: the word %s is in no codes.go", file, code)
		}
	}
}

// codeWord is one constant of a codes.go.
type codeWord struct{ file, name, code, meaning string }

// declaredWords returns the words of every codes.go, in the order of their packages.
func declaredWords(t *testing.T) []codeWord {
	t.Helper()
	var words []codeWord
	seen := map[string]string{}
	for _, folder := range codePackages {
		path := filepath.Join(folder, "codes.go")
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(node ast.Node) bool {
			spec, ok := node.(*ast.ValueSpec)
			if !ok {
				return true
			}
			code := unquoted(spec.Values[0])
			if seen[code] != "" {
				t.Errorf("%s declares %s, and so does %s", path, code, seen[code])
			}
			if spec.Comment == nil {
				t.Errorf("%s: %s has no remark that says what it means", path, code)
				return false
			}
			seen[code] = path
			words = append(words, codeWord{path, spec.Names[0].Name, code, strings.TrimSpace(spec.Comment.Text())})
			return false
		})
	}
	return words
}

// checkWords returns the words of the checks: each is the name of its file, and means what
// the file says in its first line.
func checkWords(t *testing.T) []codeWord {
	t.Helper()
	var words []codeWord
	for _, check := range warehouse.CheckNames() {
		path := filepath.Join("../../sql/checks", check+".sql")
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		line, _, _ := strings.Cut(string(text), "\n")
		meaning, found := strings.CutPrefix(line, "-- ")
		if !found {
			t.Errorf("%s does not say in its first line what must hold", path)
			continue
		}
		meaning = "a check: " + strings.ToLower(meaning[:1]) + strings.TrimSuffix(meaning[1:], ".")
		words = append(words, codeWord{file: path, code: codeOfCheck(check), meaning: meaning})
	}
	return words
}

// sourceFiles returns the Go files of a folder, without its tests and without codes.go.
func sourceFiles(t *testing.T, folder string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(files, func(file string) bool {
		return strings.HasSuffix(file, "_test.go") || filepath.Base(file) == "codes.go"
	})
}

var (
	wordShape     = regexp.MustCompile(`^[a-z]+(-[a-z]+)+$`)
	bracketedWord = regexp.MustCompile(`\[([a-z]+(-[a-z]+)+)\]`)
)

// wordsUsed collects the names that a file mentions, and the code words that it spells out:
// as the Code of a problem, as an argument of a function called fail, or in brackets.
func wordsUsed(t *testing.T, path string, names map[string]bool, literals map[string]string) {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(file, func(node ast.Node) bool {
		switch n := node.(type) {
		case *ast.Ident:
			names[n.Name] = true
		case *ast.BasicLit:
			if found := bracketedWord.FindStringSubmatch(n.Value); n.Kind == token.STRING && found != nil {
				literals[found[1]] = path
			}
		case *ast.KeyValueExpr:
			if key, ok := n.Key.(*ast.Ident); ok && key.Name == "Code" {
				if code := unquoted(n.Value); code != "" {
					literals[code] = path
				}
			}
		case *ast.CallExpr:
			if calledName(n) == "fail" {
				for _, argument := range n.Args {
					if code := unquoted(argument); wordShape.MatchString(code) {
						literals[code] = path
						break // the word comes first; a hint may look like one
					}
				}
			}
		}
		return true
	})
}

func calledName(call *ast.CallExpr) string {
	switch called := call.Fun.(type) {
	case *ast.Ident:
		return called.Name
	case *ast.SelectorExpr:
		return called.Sel.Name
	default:
		return ""
	}
}

// unquoted is the text of a string literal, or "" for anything else.
func unquoted(node ast.Expr) string {
	if literal, ok := node.(*ast.BasicLit); ok && literal.Kind == token.STRING {
		if text, err := strconv.Unquote(literal.Value); err == nil {
			return text
		}
	}
	return ""
}

// pageOf writes the page of a word: what it means, the messages of its fixture as they are
// printed, and their hints.
func pageOf(word codeWord) (string, error) {
	printed, err := fixtureOf(word.code)
	if err != nil {
		return "", err
	}
	messages, hints := messagesOf(printed, word.code)
	if len(messages) == 0 {
		return "", fmt.Errorf("the fixture of %s does not print it", word.code)
	}
	if len(hints) == 0 {
		return "", fmt.Errorf("%s has no hint", word.code)
	}
	indented := func(lines []string) string { return "  " + strings.Join(lines, "\n  ") + "\n" }
	return fmt.Sprintf("%s: %s\n\nFor example:\n\n%s\nWhat to do:\n\n%s", word.code, word.meaning, indented(messages), indented(hints)), nil
}

// fixtureOf returns what the failing fixture of a code word prints: the case folder of
// ingest that is named for it, the file of testdata/problems, or the file want/CODE.txt of
// a script that compares it.
func fixtureOf(code string) (string, error) {
	for _, file := range []string{filepath.Join("../../ingest/testdata", code, "want.txt"), filepath.Join("testdata/problems", code+".txt")} {
		text, err := os.ReadFile(file)
		if err == nil || !errors.Is(err, fs.ErrNotExist) {
			return string(text), err
		}
	}
	scripts, err := filepath.Glob("testdata/script/*.txt")
	if err != nil {
		return "", err
	}
	golden := "want/" + code + ".txt"
	for _, script := range scripts {
		archive, err := txtar.ParseFile(script)
		if err != nil {
			return "", err
		}
		for _, file := range archive.Files {
			if file.Name == golden && strings.Contains(string(archive.Comment), " "+golden+"\n") {
				return string(file.Data), nil
			}
		}
	}
	return "", fmt.Errorf("no fixture prints [%s]: add it to testdata/script as %s", code, golden)
}

// messagesOf takes the messages of one code word out of what was printed, each with its
// row and hint, and their different hints.
func messagesOf(printed, code string) (messages, hints []string) {
	printed, _, _ = strings.Cut(printed, "\nrejects:\n")
	inside := false
	for _, line := range strings.Split(strings.TrimRight(printed, "\n"), "\n") {
		hint, isHint := strings.CutPrefix(line, "hint: ")
		if !isHint && !strings.HasPrefix(line, "  ") {
			inside = strings.HasSuffix(line, " ["+code+"]")
		}
		if !inside {
			continue
		}
		messages = append(messages, line)
		if isHint && !slices.Contains(hints, hint) {
			hints = append(hints, hint)
		}
	}
	return messages, hints
}
