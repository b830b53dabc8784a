package trail

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// mostRows is how many rows of a level are printed without all.
const mostRows = 40

// printer writes an indented tree. The text of a row is printed where the row is named
// first.
type printer struct {
	out  *bufio.Writer
	all  bool
	seen map[*Row]bool
}

func newPrinter(out io.Writer, all bool) *printer {
	return &printer{out: bufio.NewWriter(out), all: all, seen: map[*Row]bool{}}
}

// WriteText writes the job as an indented tree: without all, at most forty rows below each
// line, and what the others come to.
func (j *Job) WriteText(out io.Writer, all bool) error {
	p := newPrinter(out, all)
	p.job(0, j)
	return p.out.Flush()
}

// WriteText writes the week's sum, then each job.
func (w *Week) WriteText(out io.Writer, all bool) error {
	p := newPrinter(out, all)
	sum := "blank: no job is complete"
	if w.Total != nil {
		sum = w.Total.String()
	}
	p.line(0, fmt.Sprintf("%s, %s until %s: %s of complete jobs  %s", w.Week, w.From, w.Until, w.What, sum))
	names, amounts := make([]string, len(w.Jobs)), make([]string, len(w.Jobs))
	for i, job := range w.Jobs {
		names[i], amounts[i] = job.Job, job.shown().String()
	}
	for i, line := range aligned(names, amounts) {
		if left := len(w.Jobs) - i; !all && i == mostRows {
			p.line(1, more(left, sumOf(w.Jobs[i:], (*Job).shown)))
			break
		}
		p.line(1, line)
	}
	for _, job := range w.Jobs {
		p.line(0, "")
		p.job(0, job)
	}
	return p.out.Flush()
}

func (p *printer) line(depth int, text string) {
	if text != "" {
		p.out.WriteString(strings.Repeat("  ", depth))
	}
	p.out.WriteString(text)
	p.out.WriteByte('\n')
}

func (p *printer) job(depth int, j *Job) {
	title := j.Job
	if j.Customer != nil {
		title += " for " + *j.Customer
	}
	if j.ShippedOn != nil {
		title += ", shipped " + *j.ShippedOn
	}
	if j.Until != nil {
		title += ", until " + *j.Until
	}
	p.line(depth, title)
	names, amounts := []string{}, []string{}
	for _, figure := range j.Figures {
		names, amounts = append(names, figure.Figure), append(amounts, figure.Total.String())
	}
	if !j.narrowed {
		margin := "blank"
		if j.Margin != nil {
			margin = j.Margin.String()
		}
		names, amounts = append(names, "cost", "margin"), append(amounts, j.Cost.String(), margin)
	}
	lines := aligned(names, amounts)
	for i, figure := range j.Figures {
		p.line(depth+1, lines[i])
		p.classes(depth+2, figure)
	}
	for _, line := range lines[len(j.Figures):] {
		p.line(depth+1, line)
	}
	if !j.narrowed && j.Margin == nil {
		p.line(depth+1, "no margin: "+*j.Missing)
	}
}

// classes prints the classes of a figure, or of a figure with one class its postings.
func (p *printer) classes(depth int, figure *Figure) {
	if len(figure.Classes) == 1 {
		p.class(depth, figure.Classes[0])
		return
	}
	var names, amounts []string
	hidden := true
	for _, class := range figure.Classes {
		names, amounts = append(names, class.Class), append(amounts, class.Total.String())
		hidden = hidden && class.Hidden
	}
	for i, line := range aligned(names, amounts) {
		p.line(depth, line)
		if !hidden {
			p.class(depth+1, figure.Classes[i])
		}
	}
	if hidden {
		p.line(depth, addWages)
	}
}

const addWages = "add --wages to see the rows"

func (p *printer) class(depth int, class *Class) {
	if class.Hidden {
		p.line(depth, addWages)
		return
	}
	width := widest(class.Postings, func(posting *Posting) Cents { return posting.USD })
	for i, posting := range class.Postings {
		if !p.all && i == mostRows {
			p.line(depth, more(len(class.Postings)-i, sumOf(class.Postings[i:], func(posting *Posting) Cents { return posting.USD })))
			return
		}
		text := fmt.Sprintf("%*s  %s", width, posting.USD, posting.PostedOn)
		if posting.OriginalOn != posting.PostedOn {
			text += ", correcting " + posting.OriginalOn
		}
		if posting.OccurredOn != posting.OriginalOn {
			text += ", of " + posting.OccurredOn
		}
		p.row(depth, width, text+" ", posting.Source)
		p.parts(depth+2, posting.Parts)
	}
}

func (p *printer) parts(depth int, parts []*Part) {
	width := widest(parts, func(part *Part) Cents { return part.USD })
	for i, part := range parts {
		if !p.all && i == mostRows {
			p.line(depth, more(len(parts)-i, sumOf(parts[i:], func(part *Part) Cents { return part.USD })))
			return
		}
		text := fmt.Sprintf("%*s  %s", width, part.USD, part.What)
		if part.PricedAs != nil {
			text += "; " + *part.PricedAs
		}
		p.row(depth, width, text, part.PricedBy)
	}
}

// row prints a line that ends in the place of a row, and below it the row's text.
func (p *printer) row(depth, width int, text string, row *Row) {
	if row == nil {
		p.line(depth, strings.TrimRight(text, " "))
		return
	}
	p.line(depth, text+" "+row.Place)
	if p.seen[row] || row.Text == nil {
		return
	}
	p.seen[row] = true
	for _, line := range strings.Split(*row.Text, "\n") {
		p.line(depth, strings.Repeat(" ", width)+"  | "+line)
	}
}

// more says what is not printed.
func more(n int, rest Cents) string {
	if n == 1 {
		return fmt.Sprintf("… and 1 more row, %s in all", rest)
	}
	return fmt.Sprintf("… and %d more rows, %s in all", n, rest)
}

func sumOf[T any](rows []T, of func(T) Cents) (sum Cents) {
	for _, row := range rows {
		sum += of(row)
	}
	return sum
}

func widest[T any](rows []T, of func(T) Cents) (width int) {
	for _, row := range rows {
		width = max(width, len(of(row).String()))
	}
	return width
}

// aligned writes names with amounts below one another.
func aligned(names, amounts []string) []string {
	name, amount := 0, 0
	for i := range names {
		name, amount = max(name, utf8.RuneCountInString(names[i])), max(amount, len(amounts[i]))
	}
	lines := make([]string, len(names))
	for i := range names {
		pad := name - utf8.RuneCountInString(names[i])
		lines[i] = fmt.Sprintf("%s%s  %*s", names[i], strings.Repeat(" ", pad), amount, amounts[i])
	}
	return lines
}
