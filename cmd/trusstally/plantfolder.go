package main

import (
	"context"
	"os"
	"path/filepath"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// folder is a plant's folder with its settings.
type folder struct {
	path     string
	settings *plant.Settings
}

func (p *program) openFolder() (*folder, error) { return openFolderAt(p.plantFolder) }

// openFolderAt reads the settings of the plant's folder.
func openFolderAt(path string) (*folder, error) {
	settings, err := plant.Read(path, feedNames())
	if err != nil {
		return nil, err
	}
	if err := ingest.CheckRules(settings); err != nil {
		return nil, err
	}
	return &folder{path: path, settings: settings}, nil
}

func feedNames() []string {
	var names []string
	for _, feed := range ingest.Feeds() {
		names = append(names, feed.Name)
	}
	return names
}

func (f *folder) warehouse() string { return filepath.Join(f.path, warehouse.FileName) }
func (f *folder) inbox() string     { return filepath.Join(f.path, "inbox") }
func (f *folder) archive() string   { return filepath.Join(f.path, "archive") }
func (f *folder) rejects() string   { return filepath.Join(f.path, "rejects") }
func (f *folder) books() string     { return filepath.Join(f.path, "books") }
func (f *folder) logs() string      { return filepath.Join(f.books(), logsFolder) }

// logsFolder is the folder within books/ of what each run printed.
const logsFolder = "logs"

// landing returns how files of the feed are to be read in this plant. openFolder has
// checked the reading rules.
func (f *folder) landing(feed ingest.Feed, acceptRemovals bool) ingest.Options {
	rules, given := f.settings.Feeds[feed.Name]
	var reading *ingest.Reading
	if given {
		reading, _ = ingest.NewReading(feed, rules, f.settings.Lumber.Packs)
	}
	return ingest.Options{
		Zone: f.settings.Zone, Reading: reading, Stations: stationCodes(f.settings), Columns: rules.Columns, Sheet: rules.Sheet, AcceptRemovals: acceptRemovals,
	}
}

// weekPeriod returns the week of the label, or without one the newest week that ended
// before the clock's date and holds a punch or a completion. ok is false when there is none.
func (p *program) weekPeriod(ctx context.Context, w *warehouse.Warehouse, f *folder, label string) (period reports.Period, ok bool, err error) {
	if label == "" {
		label, err = w.NewestWeek(ctx, p.now())
		if err != nil || label == "" {
			return period, false, err
		}
	}
	period, err = reports.Week(label, f.settings.WeekStartDay)
	return period, err == nil, err
}

// progress shows a bar on stderr when that is a terminal, and nothing otherwise.
func (p *program) progress(steps int, what string) *progressbar.ProgressBar {
	file, isFile := p.screen().(*os.File)
	if !isFile || !term.IsTerminal(int(file.Fd())) {
		return progressbar.DefaultSilent(int64(steps), what)
	}
	return progressbar.NewOptions(steps, progressbar.OptionSetWriter(p.screen()), progressbar.OptionSetDescription(what),
		progressbar.OptionClearOnFinish(), progressbar.OptionShowCount(), progressbar.OptionEnableColorCodes(false))
}
