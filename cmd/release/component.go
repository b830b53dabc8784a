package main

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
)

// component is code by others that is in a program: a Go module, Go itself, or what a
// compiler and the engine bring along.
type component struct {
	name, version string
	licences      []string // SPDX identifiers
	texts         []licenceText
	needs         []string // names of components that it calls, in order
	module        bool     // a Go module
}

// licenceText is one file that has to go with the component.
type licenceText struct{ file, text string }

// licenceFile is what files with licences and notices are called.
var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([.-].*)?$`)

// goPackage is what go list says about one package.
type goPackage struct {
	ImportPath string
	Dir        string
	Standard   bool
	Imports    []string
	Module     *struct {
		Path, Version, Dir string
		Main               bool
	}
}

// goName is Go's own runtime and library.
const goName = "go"

// components lists what is linked into the target's program, by name. A component without
// a licence, or with one that licencesIn doesn't know, is an error: nobody has read it.
func (t target) components(tree string) ([]component, error) {
	packages, err := t.packages(tree)
	if err != nil {
		return nil, err
	}
	owner := map[string]string{} // of a package
	for _, p := range packages {
		owner[p.ImportPath] = p.owner()
	}
	found := map[string]*component{}
	needs := map[string]map[string]bool{}
	folders := map[string]map[string]bool{} // with licences, by component
	for _, p := range packages {
		name := p.owner()
		if found[name] == nil {
			found[name] = &component{name: name, module: p.Module != nil}
			needs[name], folders[name] = map[string]bool{}, map[string]bool{}
			switch {
			case p.Module == nil:
				found[name].version = strings.TrimPrefix(runtime.Version(), "go")
				folders[name][runtime.GOROOT()] = true
			case !p.Module.Main:
				found[name].version = p.Module.Version
			}
		}
		for _, imported := range p.Imports {
			if other := owner[imported]; other != "" && other != name {
				needs[name][other] = true
			}
		}
		if p.Module == nil || p.Module.Main {
			continue
		}
		// A package may have a licence of its own below its module's.
		for folder := p.Dir; strings.HasPrefix(folder, p.Module.Dir); folder = filepath.Dir(folder) {
			folders[name][folder] = true
		}
	}
	var list []component
	for _, name := range slices.Sorted(maps.Keys(found)) {
		c := *found[name]
		c.needs = slices.Sorted(maps.Keys(needs[name]))
		if name != programModule {
			if err := c.readLicences(slices.Sorted(maps.Keys(folders[name]))); err != nil {
				return nil, err
			}
		}
		list = append(list, c)
	}
	for _, part := range t.parts {
		c, err := partOf(part)
		if err != nil {
			return nil, err
		}
		list = append(list, c)
	}
	return list, nil
}

// programModule is the module of the program itself.
const programModule = "trusstally"

func (p goPackage) owner() string {
	if p.Module == nil {
		return goName
	}
	return p.Module.Path
}

// packages asks go list what is linked into the program.
func (t target) packages(tree string) ([]goPackage, error) {
	list := exec.Command("go", "list", "-deps", "-json=ImportPath,Dir,Standard,Imports,Module", "-tags", t.tags, "./cmd/trusstally")
	list.Dir = tree
	list.Env = append(os.Environ(), "GOOS="+t.system, "GOARCH="+t.processor, "CGO_ENABLED=1")
	var complaints bytes.Buffer
	list.Stderr = &complaints
	out, err := list.Output()
	if err != nil {
		return nil, fmt.Errorf("go list: %w: %s", err, &complaints)
	}
	var packages []goPackage
	decoder := json.NewDecoder(bytes.NewReader(out))
	for {
		var p goPackage
		err := decoder.Decode(&p)
		if errors.Is(err, io.EOF) {
			return packages, nil
		}
		if err != nil {
			return nil, err
		}
		packages = append(packages, p)
	}
}

// readLicences takes the licences from the folders.
func (c *component) readLicences(folders []string) error {
	for _, folder := range folders {
		entries, err := os.ReadDir(folder)
		if err != nil {
			return err
		}
		for _, entry := range entries {
			if entry.IsDir() || !licenceFile.MatchString(entry.Name()) || strings.HasSuffix(entry.Name(), ".go") {
				continue
			}
			text, err := os.ReadFile(filepath.Join(folder, entry.Name()))
			if err != nil {
				return err
			}
			c.texts = append(c.texts, licenceText{entry.Name(), strings.ReplaceAll(string(text), "\r\n", "\n")})
		}
	}
	return c.nameLicences()
}

// nameLicences finds the identifiers of the licences in the texts.
func (c *component) nameLicences() error {
	names := map[string]bool{}
	for _, text := range c.texts {
		for _, name := range licencesIn(text.text) {
			names[name] = true
		}
	}
	if len(names) == 0 {
		return fmt.Errorf("%s %s has no licence that is known here: read it, and add it to licence.go", c.name, c.version)
	}
	c.licences = slices.Sorted(maps.Keys(names))
	return nil
}

// partTexts are the licences of what is in a program without being a Go module. The first
// line of each is "name version".
//
//go:embed licences/*.txt
var partTexts embed.FS

func partOf(part string) (component, error) {
	text, err := partTexts.ReadFile("licences/" + part + ".txt")
	if err != nil {
		return component{}, err
	}
	first, rest, _ := strings.Cut(string(text), "\n")
	name, version, _ := strings.Cut(first, " ")
	c := component{name: name, version: version, texts: []licenceText{{"licence", strings.TrimLeft(rest, "\n")}}}
	return c, c.nameLicences()
}
