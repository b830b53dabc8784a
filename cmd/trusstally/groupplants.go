package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// groupPlant is one plant of a group: its folder, and its sheets or why it is left out.
type groupPlant struct {
	path     string // as it was named
	name     string
	folder   *folder              // nil where plant.toml can't be read
	problems problem.List         // why the plant is left out; none of one that is in
	says     string               // the first of them in the books; "" of one that is in
	sheets   *reports.PlantSheets // nil until it is read
}

// openGroup reads the settings of the plants in the folders, which come back in order of their
// names. What is wrong with a plant leaves that plant out; what is wrong with the call is a
// problem.List.
func openGroup(paths []string) ([]*groupPlant, error) {
	var plants []*groupPlant
	for _, path := range paths {
		one := &groupPlant{path: filepath.ToSlash(filepath.Clean(path))}
		one.name = "folder " + one.path
		f, err := openFolderAt(path)
		var list problem.List
		switch {
		case err == nil:
			one.folder, one.name = f, f.settings.Name
		case errors.As(err, &list) && list[0].Code == plant.CodeNoPlant:
			return nil, problem.List{{Place: one.path, What: "there is no " + plant.FileName + " in this folder", Code: plant.CodeNoPlant, Usage: true,
				Hint: "name folders of plants, each with its " + plant.FileName}}
		case errors.As(err, &list):
			one.leaveOut(list)
		default:
			return nil, err
		}
		plants = append(plants, one)
	}
	if err := eachOnce(plants); err != nil {
		return nil, err
	}
	if err := oneWeek(plants); err != nil {
		return nil, err
	}
	slices.SortFunc(plants, func(a, b *groupPlant) int { return strings.Compare(a.name, b.name) })
	return plants, nil
}

// eachOnce refuses a plant that is named twice, and two plants of one name: nobody could tell
// their rows apart.
func eachOnce(plants []*groupPlant) error {
	for i, one := range plants {
		for _, other := range plants[:i] {
			switch {
			case sameFile(one.path, other.path) || sameFile(filepath.Join(one.path, warehouse.FileName), filepath.Join(other.path, warehouse.FileName)):
				return problem.List{{Place: one.path, What: fmt.Sprintf("the folder is in the group already (%s)", other.path), Code: codeSamePlant, Usage: true,
					Hint: "name each plant once: its figures would count twice"}}
			case strings.EqualFold(strings.TrimSpace(one.name), strings.TrimSpace(other.name)):
				return problem.List{{Place: one.path, What: fmt.Sprintf("the plant has the name of the one in %s (%s)", other.path, one.name), Code: codeSamePlant, Usage: true,
					Hint: "give one of them another name under [plant] in its " + plant.FileName + ", and run it; a copy of a plant is no second plant"}}
			}
		}
	}
	return nil
}

// sameFile says whether two paths lead to one file or folder.
func sameFile(a, b string) bool {
	one, err := os.Stat(a)
	if err != nil {
		return false
	}
	other, err := os.Stat(b)
	return err == nil && os.SameFile(one, other)
}

// oneWeek refuses plants whose weeks are different days.
func oneWeek(plants []*groupPlant) error {
	var first *groupPlant
	for _, one := range plants {
		switch {
		case one.folder == nil:
		case first == nil:
			first = one
		case one.weekStart() != first.weekStart():
			return problem.List{{Place: one.path, What: fmt.Sprintf("its workweek starts on %s, that of %s on %s", one.weekStart(), first.path, first.weekStart()), Code: codeOtherWeek, Usage: true,
				Hint: "a week over both would be of different days: make a group of the plants whose workweeks start on the same day"}}
		}
	}
	return nil
}

func (g *groupPlant) weekStart() time.Weekday { return g.folder.settings.WeekStartDay }

// keepOutOf refuses to write into a plant's folder.
func keepOutOf(plants []*groupPlant, to string) error {
	at, err := filepath.Abs(to)
	if err != nil {
		return err
	}
	// What isn't there yet will be made in the nearest folder above it that is.
	for {
		real, err := filepath.EvalSymlinks(at)
		if err == nil {
			at = real
			break
		}
		if above := filepath.Dir(at); above != at {
			at = above
			continue
		}
		return nil
	}
	for {
		for _, one := range plants {
			if sameFile(at, one.path) {
				return problem.List{{Place: filepath.ToSlash(to), What: fmt.Sprintf("the folder is within a plant of the group (%s)", one.path), Code: codeInsidePlant, Usage: true,
					Hint: "name a folder outside of the plants with --to"}}
			}
		}
		above := filepath.Dir(at)
		if above == at {
			return nil
		}
		at = above
	}
}

// leaveOut takes the plant out of the group. Its problems are said with its folder; what the
// books say of it is the same whichever process was in the way and however long it was waited
// for.
func (g *groupPlant) leaveOut(list problem.List) {
	for i, one := range list {
		placed, within := *one, ""
		placed.Usage = false // the call is right: the plant is not
		if one.Place != "" && one.Place != warehouse.FileName {
			within = one.Place
			placed.Place = g.path + "/" + within
		} else {
			placed.Place = g.path
		}
		placed.What = "left out of the group: " + one.What
		g.problems = append(g.problems, &placed)
		if i > 0 {
			continue
		}
		g.says = one.What
		if one.Code == warehouse.CodeWarehouseLocked {
			g.says = "another run had its warehouse"
		}
		if within != "" {
			g.says = within + ": " + g.says
		}
		g.says += " [" + one.Code + "]"
	}
}

// remaining are the plants that are not left out.
func remaining(plants []*groupPlant) []*groupPlant {
	return slices.DeleteFunc(slices.Clone(plants), func(g *groupPlant) bool { return len(g.problems) > 0 })
}

// openGroupPlant opens the plant's warehouse locked, with so many threads of the engine where
// the environment doesn't say how many. One whose ledgers are of another version or plant.toml
// is refused: its sheets would mix with those of the others.
func (p *program) openGroupPlant(ctx context.Context, one *groupPlant, threads int) (*warehouse.Warehouse, error) {
	var prepare []string
	if os.Getenv(warehouse.ThreadsVariable) == "" {
		prepare = []string{fmt.Sprintf("SET threads=%d", threads)}
	}
	w, stale, err := p.openBuilt(ctx, one.folder, prepare...)
	if err != nil || !stale {
		return w, err
	}
	return nil, errors.Join(problem.List{{What: "plant.toml or the program has changed since its ledgers were built", Code: codeStalePlant,
		Hint: "build them anew: trusstally run --plant " + one.path}}, w.Close())
}

// groupPeriod is the week of the label, or without one the newest week that has ended in which
// any of the plants has a punch or a completion.
func (p *program) groupPeriod(ctx context.Context, plants []*groupPlant, label string) (reports.Period, error) {
	start := time.Monday
	for _, one := range remaining(plants) {
		start = one.weekStart()
	}
	if label == "" {
		labels := make([]string, len(plants))
		err := p.inGroup(ctx, plants, func(number int, w *warehouse.Warehouse) (err error) {
			labels[number], err = w.NewestWeek(ctx, p.now())
			return err
		})
		if err != nil {
			return reports.Period{}, err
		}
		if label = slices.Max(labels); label == "" && len(remaining(plants)) > 0 {
			return reports.Period{}, problem.List{{What: "no week that has ended holds a punch or a completion of any plant", Code: codeNoWeek, Usage: true,
				Hint: "name the week with --week"}}
		}
		if label == "" {
			return reports.Period{}, nil // every plant is left out, which writeGroup says
		}
	}
	return reports.Week(label, start)
}

// readGroup reads the sheets of the plants.
func (p *program) readGroup(ctx context.Context, group *reports.Group, plants []*groupPlant) error {
	bar := p.progress(len(plants), "reading plants")
	defer bar.Finish()
	return p.inGroup(ctx, plants, func(number int, w *warehouse.Warehouse) (err error) {
		plants[number].sheets, err = group.Read(ctx, w)
		bar.Add(1)
		return err
	})
}

// inGroup does the work on the warehouse of each plant that is not left out, as many at once
// as there are cores. A plant that can't be opened, or whose file the engine finds damaged, is
// left out; another error is returned with the plant's folder.
func (p *program) inGroup(ctx context.Context, plants []*groupPlant, work func(number int, w *warehouse.Warehouse) error) error {
	atOnce := min(runtime.NumCPU(), len(plants))
	return sideBySide(len(plants), atOnce, func(number int) error {
		one := plants[number]
		if len(one.problems) > 0 {
			return nil
		}
		w, err := p.openGroupPlant(ctx, one, runtime.NumCPU()/atOnce)
		var list problem.List
		switch {
		case err == nil:
			err = errors.Join(work(number, w), w.Close())
			list = warehouse.DamageOf(err)
		case !errors.As(err, &list):
			list = warehouse.DamageOf(err)
		}
		if list != nil {
			one.leaveOut(list)
			return nil
		}
		if err != nil {
			return fmt.Errorf("%s: %w", one.path, err)
		}
		return nil
	})
}

// closeSheets gives back what the plants' sheets took.
func closeSheets(plants []*groupPlant) {
	for _, one := range plants {
		if one.sheets != nil {
			one.sheets.Close()
		}
	}
}
