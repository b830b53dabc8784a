package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

func main() {
	os.Exit(Run(os.Args[1:], os.Stderr))
}

// release is what one call packs.
type release struct {
	version string
	commit  string
	when    time.Time // of the commit: the time of every file in the archives
	built   string    // folder with linux-amd64/ and windows-amd64/ as the compiler left them
	tree    string    // folder of the sources, where go list works
	to      string    // folder of the archives
}

// documents are the files of the sources that go into each archive.
var documents = []string{"README.md", "CHANGELOG.md", "LICENSE"}

// Run packs a release and returns 0, 1 when it can't, 2 when it was called wrongly.
func Run(arguments []string, stderr io.Writer) int {
	var r release
	var seconds int64
	flags := flag.NewFlagSet("release", flag.ContinueOnError)
	flags.SetOutput(stderr)
	flags.StringVar(&r.version, "version", "", "the release, as 0.1.0")
	flags.StringVar(&r.commit, "commit", "", "the commit that was built, whole")
	flags.Int64Var(&seconds, "seconds", 0, "when it was committed, in seconds since 1970")
	flags.StringVar(&r.built, "built", "", "the folder of the built programs")
	flags.StringVar(&r.tree, "tree", ".", "the folder of the sources")
	flags.StringVar(&r.to, "to", "dist", "the folder for the archives")
	if err := flags.Parse(arguments); err != nil {
		return 2
	}
	if flags.NArg() > 0 || r.version == "" || r.commit == "" || seconds <= 0 || r.built == "" {
		fmt.Fprintln(stderr, "release needs --version, --commit, --seconds and --built; .ci/release gives them")
		return 2
	}
	r.when = time.Unix(seconds, 0).UTC()
	if err := r.pack(); err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	return 0
}

// pack writes the archives of all targets, the notices, the bills and the sums.
func (r release) pack() error {
	if err := os.MkdirAll(r.to, 0o755); err != nil {
		return err
	}
	var everything []component
	linked := map[string][]component{}
	for _, t := range targets {
		components, err := t.components(r.tree)
		if err != nil {
			return fmt.Errorf("%s: %w", t.name(), err)
		}
		linked[t.name()] = components
		everything = append(everything, components...)
	}
	noticesText := notices(r.version, everything)
	written := []string{}
	write := func(name string, data []byte) error {
		written = append(written, name)
		return os.WriteFile(filepath.Join(r.to, name), data, 0o644)
	}
	if err := write(noticesName, noticesText); err != nil {
		return err
	}
	for _, t := range targets {
		files, err := r.builtFiles(t)
		if err != nil {
			return err
		}
		billText, err := r.bill(t, linked[t.name()], files)
		if err != nil {
			return err
		}
		if err := write(r.base(t)+".cdx.json", billText); err != nil {
			return err
		}
		files = append(files, packedFile{name: noticesName, data: noticesText}, packedFile{name: billName, data: billText})
		for _, document := range documents {
			text, err := os.ReadFile(filepath.Join(r.tree, document))
			if err != nil {
				return err
			}
			files = append(files, packedFile{name: document, data: text})
		}
		archive, err := t.archive(r.base(t), files, r.when)
		if err != nil {
			return err
		}
		if err := write(r.base(t)+t.ending, archive); err != nil {
			return err
		}
	}
	sums, err := sumsOf(r.to, written)
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(r.to, sumsName), sums, 0o644)
}

// base is the name of the target's archive without its ending, and of the folder in it.
func (r release) base(t target) string {
	return "trusstally-" + r.version + "-" + t.name()
}

// builtFiles reads what was built for the target, in order of the names. The program and
// the libraries that it needs must be there.
func (r release) builtFiles(t target) ([]packedFile, error) {
	folder := filepath.Join(r.built, t.name())
	var files []packedFile
	err := filepath.WalkDir(folder, func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(folder, path)
		if err != nil {
			return err
		}
		name = filepath.ToSlash(name)
		files = append(files, packedFile{name: name, data: data, program: name == t.program})
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, needed := range append([]string{t.program}, t.libraries...) {
		if !slices.ContainsFunc(files, func(f packedFile) bool { return f.name == needed }) {
			return nil, errors.New(strings.Join([]string{folder, "has no", needed}, " "))
		}
	}
	return files, nil
}
