package trail

import (
	"context"
	"fmt"
)

// Job loads one job of the feed, to date before the day, which may be "". Where a level does
// not add up to the one above, that is an error.
func (t *Trail) Job(ctx context.Context, name, until string) (*Job, error) {
	job := &Job{Job: name, Hidden: !t.wages, narrowed: t.only != ""}
	day := allDays
	if until != "" {
		job.Until, day = &until, until
	}
	of := map[string]any{"job": name, "until": day}
	figures := map[string]Cents{}
	found := false
	err := t.each(ctx, "position", of, func(r record) (err error) {
		found = true
		job.Customer, job.ShippedOn, job.Missing = r.known("customer"), r.known("left_on"), r.known("missing")
		if job.Cost, err = r.cents("cost_usd"); err != nil {
			return err
		}
		for _, c := range t.classes {
			if figures[c.figure], err = r.cents(c.figure + "_usd"); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if !found {
		return nil, fmt.Errorf("explain: no position of job %s", name)
	}
	totals := map[string]Cents{}
	err = t.each(ctx, "totals", of, func(r record) (err error) {
		totals[r.text("class")], err = r.cents("usd")
		return err
	})
	if err != nil {
		return nil, err
	}
	all, err := t.figures(name, figures, totals)
	if err != nil {
		return nil, err
	}
	if err := job.sum(t, all); err != nil {
		return nil, err
	}
	job.Figures = t.narrowed(all)
	for _, figure := range job.Figures {
		for _, class := range figure.Classes {
			if err := t.loadClass(ctx, name, day, class); err != nil {
				return nil, err
			}
		}
	}
	return job, nil
}

// figures puts the classes below the figures that they add up to. A class that no figure
// has is an error: its dollars would be lost.
func (t *Trail) figures(job string, of, totals map[string]Cents) ([]*Figure, error) {
	var figures []*Figure
	placed := 0
	for _, c := range t.classes {
		if len(figures) == 0 || figures[len(figures)-1].Figure != c.figure {
			figures = append(figures, &Figure{Figure: c.figure, Total: of[c.figure]})
		}
		last := figures[len(figures)-1]
		if _, posted := totals[c.name]; posted {
			placed++
		}
		last.Classes = append(last.Classes, &Class{Class: c.name, Total: totals[c.name], Hidden: c.isPay && !t.wages})
	}
	if placed != len(totals) {
		return nil, fmt.Errorf("explain: job %s has postings of a class that sql/explain/classes.sql does not know", job)
	}
	for _, figure := range figures {
		if err := adds(fmt.Sprintf("%s of job %s", figure.Figure, job), figure.Total, figure.Classes, func(c *Class) Cents { return c.Total }); err != nil {
			return nil, err
		}
	}
	return figures, nil
}

// sum works out revenue and margin, and holds the cost against its figures.
func (j *Job) sum(t *Trail, figures []*Figure) error {
	isCost := map[string]bool{}
	for _, c := range t.classes {
		isCost[c.figure] = c.isCost
	}
	var costs []*Figure
	for _, figure := range figures {
		if isCost[figure.Figure] {
			costs = append(costs, figure)
		} else {
			j.Revenue += figure.Total
		}
	}
	if j.Missing == nil {
		margin := j.Revenue - j.Cost
		j.Margin = &margin
	}
	return adds("cost of job "+j.Job, j.Cost, costs, func(f *Figure) Cents { return f.Total })
}

// narrowed keeps the figure or class that was asked for. A class is then a figure of its
// own name.
func (t *Trail) narrowed(all []*Figure) []*Figure {
	if t.only == "" {
		return all
	}
	for _, figure := range all {
		if figure.Figure == t.only {
			return []*Figure{figure}
		}
	}
	for _, figure := range all {
		for _, class := range figure.Classes {
			if class.Class == t.only {
				return []*Figure{{Figure: class.Class, Total: class.Total, Classes: []*Class{class}}}
			}
		}
	}
	return nil
}

// loadClass loads the postings of a class and what is behind them.
func (t *Trail) loadClass(ctx context.Context, job, until string, into *Class) error {
	into.Postings = []*Posting{}
	if into.Hidden {
		return nil
	}
	postings := map[string]*Posting{}
	of := map[string]any{"job": job, "class": into.Class, "until": until}
	err := t.each(ctx, "postings", of, func(r record) error {
		usd, err := r.cents("usd")
		if err != nil {
			return err
		}
		source, err := t.row(r.whole("import_id"), r.whole("line"))
		if err != nil {
			return err
		}
		now, err := r.cents("now_usd")
		if err != nil {
			return err
		}
		posting := &Posting{now: now, PostedOn: r.text("posted_on"), OriginalOn: r.text("original_on"), OccurredOn: r.text("occurred_on"), USD: usd, Remake: r.known("remake"), Source: source, Parts: []*Part{}}
		if r.isTrue("is_in") {
			into.Postings = append(into.Postings, posting)
		}
		// The parts stand below the first; what is posted later corrects it.
		if key := postingKey(r); postings[key] == nil {
			postings[key] = posting
		}
		return nil
	})
	if err != nil {
		return err
	}
	name := fmt.Sprintf("%s of job %s", into.Class, job)
	if err := adds(name, into.Total, into.Postings, func(p *Posting) Cents { return p.USD }); err != nil {
		return err
	}
	for _, c := range t.classes {
		if c.name == into.Class && c.parts != "" {
			return t.loadParts(ctx, c, name, of, postings)
		}
	}
	return nil
}

// loadParts puts the parts below their postings. Each posting of the feed must have them.
func (t *Trail) loadParts(ctx context.Context, c class, name string, of map[string]any, postings map[string]*Posting) error {
	if c.parts == "minutes" {
		of["wages"] = t.wages
	}
	err := t.each(ctx, c.parts, of, func(r record) (err error) {
		part := &Part{What: r.text("what"), PricedAs: r.known("priced_as"), Detail: detailOf(r)}
		if part.USD, err = r.cents("usd"); err != nil {
			return err
		}
		if part.PricedBy, err = t.row(r.whole("priced_import_id"), r.whole("priced_line")); err != nil {
			return err
		}
		posting := postings[postingKey(r)]
		if posting == nil {
			return fmt.Errorf("explain: %s: %s %s have no posting", name, part.USD, part.What)
		}
		posting.Parts = append(posting.Parts, part)
		return nil
	})
	if err != nil {
		return err
	}
	for _, posting := range postings {
		if posting.Source == nil || posting.Source.Feed != c.partsFeed && len(posting.Parts) == 0 {
			continue
		}
		if err := adds(fmt.Sprintf("%s, posting of %s from %s", name, posting.PostedOn, posting.Source.Place), posting.now, posting.Parts, func(p *Part) Cents { return p.USD }); err != nil {
			return err
		}
		if frozen := posting.USD - posting.now; frozen != 0 {
			posting.Parts = append(posting.Parts, &Part{USD: frozen, What: "as the month was closed; corrected later"})
		}
	}
	return nil
}

// postingKey is what tells postings of one class and job apart, but for corrections.
func postingKey(r record) string {
	key := ""
	for _, name := range []string{"original_on", "occurred_on", "feed", "import_id", "line", "remake"} {
		key += r.text(name) + "\x1f"
	}
	return key
}

// adds is an error when the parts are not the whole, to the cent.
func adds[T any](what string, whole Cents, parts []T, of func(T) Cents) error {
	sum := Cents(0)
	for _, part := range parts {
		sum += of(part)
	}
	if sum != whole {
		return fmt.Errorf("explain: %s is %s, and what is below adds up to %s", what, whole, sum)
	}
	return nil
}

// Week is the margin of a period, or what the trail was narrowed to, over the jobs. margins
// are what margin_by_job says of each.
func (t *Trail) Week(ctx context.Context, label, from, until string, jobs []string, margins []Cents) (*Week, error) {
	week := &Week{Week: label, From: from, Until: until, What: "margin", Jobs: []*Job{}, Hidden: !t.wages}
	if t.only != "" {
		week.What = t.only
	}
	total := Cents(0)
	for i, name := range jobs {
		job, err := t.Job(ctx, name, until)
		if err != nil {
			return nil, err
		}
		if job.Margin == nil || *job.Margin != margins[i] {
			return nil, fmt.Errorf("explain: the margin of job %s is %s on margin_by_job, and its position says another", name, margins[i])
		}
		week.Jobs = append(week.Jobs, job)
		total += job.shown()
	}
	if len(jobs) > 0 {
		week.Total = &total
	}
	return week, nil
}

// shown is the figure of a job that its week adds up.
func (j *Job) shown() Cents {
	switch {
	case j.narrowed && len(j.Figures) > 0:
		return j.Figures[0].Total
	case j.Margin != nil:
		return *j.Margin
	}
	return 0
}
