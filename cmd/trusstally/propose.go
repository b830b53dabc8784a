package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

// propose prints a section of plant.toml for each file. It needs no plant: where there is
// none, only what the plant's own stations would tell is left out. Nothing is written.
func (p *program) propose(paths []string, feedName string) error {
	var settings *plant.Settings
	if _, err := os.Stat(filepath.Join(p.plantFolder, plant.FileName)); err == nil {
		f, err := p.openFolder()
		if err != nil {
			return err
		}
		settings = f.settings
	}
	var refused problem.List
	for i, path := range paths {
		text, err := ingest.Propose(path, feedName, settings)
		var list problem.List
		switch {
		case errors.As(err, &list):
			refused = append(refused, list...)
			continue
		case err != nil:
			return err
		}
		if i > 0 {
			fmt.Fprintln(p.stdout)
		}
		fmt.Fprint(p.stdout, text)
	}
	if len(refused) > 0 {
		return refused
	}
	return nil
}
