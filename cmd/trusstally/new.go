package main

import (
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
	"trusstally/ingest/template"
)

//go:embed plant.toml
var blankPlant []byte

func (p *program) newCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "new DIR",
		Short: "Make a folder for a plant, with settings and templates to fill in",
		Long: `Makes a folder for a plant: plant.toml with every setting explained, inbox/ for the
files, and templates/ with a workbook per feed to fill in: its headings, drop-down
lists, and an example and notes on a second sheet, of which nothing is ever imported.
It asks nothing and never touches a folder that holds a plant already.`,
		Example: `  # A new plant beside this folder
  trusstally new mill`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			dir := args[0]
			if err := makePlantFolder(dir, blankPlant); err != nil {
				return err
			}
			settings, err := plant.Parse(blankPlant, feedNames())
			if err != nil {
				return err
			}
			if err := writeTemplates(filepath.Join(dir, templatesFolder), stationCodes(settings)); err != nil {
				return err
			}
			fmt.Fprintf(p.stdout, `%s is ready. Next:
  1. Write the plant's name, time zone and stations into %s; it explains each key.
  2. Put exports into %s, or fill in the workbooks of %s and save them there.
  3. Run: trusstally run --plant %s
Until then trusstally check --plant %s says what each book needs.
`, dir, filepath.ToSlash(filepath.Join(dir, plant.FileName)), filepath.ToSlash(filepath.Join(dir, "inbox")), filepath.ToSlash(filepath.Join(dir, templatesFolder)), dir, dir)
			return nil
		},
	}
}

// makePlantFolder makes the folders and plant.toml; a folder that holds one already is a
// problem.List.
func makePlantFolder(dir string, settings []byte) error {
	path := filepath.Join(dir, plant.FileName)
	if _, err := os.Lstat(path); err == nil {
		return problem.List{{Place: filepath.ToSlash(path), What: "there is a plant in this folder already", Code: codePlantExists, Usage: true,
			Hint: "choose another folder, or run the plant: trusstally run --plant " + dir}}
	} else if !errors.Is(err, os.ErrNotExist) {
		return problem.List{{Place: filepath.ToSlash(dir), What: "no folder can be made here", Code: codeCannotWrite, Usage: true, Hint: "choose another folder", Cause: err}}
	}
	for _, folder := range []string{"inbox", "archive", "rejects", "books"} {
		mode := os.FileMode(0o755)
		if folder == "archive" || folder == "rejects" {
			mode = 0o700
		}
		if err := os.MkdirAll(filepath.Join(dir, folder), mode); err != nil {
			return problem.List{{Place: filepath.ToSlash(dir), What: "no folder can be made here", Code: codeCannotWrite, Usage: true, Hint: "choose another folder", Cause: err}}
		}
	}
	return os.WriteFile(path, settings, 0o644)
}

// templatesFolder is the folder of a plant with a file to fill in for each feed.
const templatesFolder = "templates"

// writeTemplates writes a workbook for each feed into the folder, and a CSV file into csv/
// below it.
func writeTemplates(folder string, stations []string) error {
	texts := filepath.Join(folder, "csv")
	if err := os.MkdirAll(texts, 0o755); err != nil {
		return err
	}
	for _, feed := range ingest.Feeds() {
		book, err := template.Workbook(feed, stations)
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(folder, feed.Name+".xlsx"), book, 0o644); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(texts, feed.Name+".csv"), template.Text(feed), 0o644); err != nil {
			return err
		}
	}
	return nil
}

func stationCodes(settings *plant.Settings) []string {
	var codes []string
	for _, station := range settings.Stations {
		codes = append(codes, station.Code)
	}
	return codes
}
