package reports

import (
	"fmt"
	"regexp"
	"strconv"
	"time"

	"trusstally/ingest/problem"
)

// Period is a half-open stretch of days: From is the first, Until the day after the last.
type Period struct {
	From, Until time.Time
	Label       string // 2026-W46, 2026-10, or 2026-11-02..2026-11-08

	assumptions Assumptions // of report what_if

	book string // name of the book that is being written, for the parameter of that name
}

func day(t time.Time) string { return t.Format("2006-01-02") }

// In words, for a title or a footer: "2026-W46, 2026-11-09 to 2026-11-15".
func (p Period) String() string {
	last := p.Until.AddDate(0, 0, -1)
	if p.Label == "" {
		return day(p.From) + " to " + day(last)
	}
	return p.Label + ", " + day(p.From) + " to " + day(last)
}

// Week returns the workweek of that label when workweeks start on the weekday: the one
// whose fourth day lies in that ISO week.
func Week(label string, starts time.Weekday) (Period, error) {
	match := regexp.MustCompile(`^(\d{4})-W(\d{2})$`).FindStringSubmatch(label)
	if match != nil {
		year, _ := strconv.Atoi(match[1])
		week, _ := strconv.Atoi(match[2])
		// 4 January is always in ISO week 1.
		monday := time.Date(year, 1, 4, 0, 0, 0, 0, time.UTC)
		monday = monday.AddDate(0, 0, -(int(monday.Weekday())+6)%7+7*(week-1))
		if y, w := monday.ISOWeek(); y == year && w == week {
			first := monday.AddDate(0, 0, -3)
			first = first.AddDate(0, 0, (int(starts)-int(first.Weekday())+7)%7)
			return Period{From: first, Until: first.AddDate(0, 0, 7), Label: label}, nil
		}
	}
	return Period{}, problem.List{{What: fmt.Sprintf("not a week (%s)", label), Code: CodeBadWeek, Usage: true, Hint: "write a week as 2026-W46"}}
}

// Month returns the calendar month of that label, such as 2026-10.
func Month(label string) (Period, error) {
	first, err := time.Parse("2006-01", label)
	if err != nil || first.Year() < 2000 || first.Year() > 2099 {
		return Period{}, problem.List{{What: fmt.Sprintf("not a month (%s)", label), Code: CodeBadMonth, Usage: true, Hint: "write a month as 2026-10"}}
	}
	return Period{From: first, Until: first.AddDate(0, 1, 0), Label: label}, nil
}

// Days returns the period from the first day until the day after the last.
func Days(from, until string) (Period, error) {
	first, err1 := time.Parse("2006-01-02", from)
	after, err2 := time.Parse("2006-01-02", until)
	if err1 != nil || err2 != nil {
		return Period{}, problem.List{{What: fmt.Sprintf("not a first day and a day after the last (%q, %q)", from, until), Code: CodeBadPeriod, Usage: true,
			Hint: "write --from 2026-11-02 --until 2026-11-09; both are needed"}}
	}
	if !first.Before(after) {
		return Period{}, problem.List{{What: fmt.Sprintf("the period ends before it starts (%s, %s)", from, until), Code: CodeBadPeriod, Usage: true,
			Hint: "--until is the day after the last"}}
	}
	return Period{From: first, Until: after, Label: from + ".." + day(after.AddDate(0, 0, -1))}, nil
}

// LastFullMonth returns the last calendar month that has ended when the period has.
func (p Period) LastFullMonth() Period {
	first := time.Date(p.Until.Year(), p.Until.Month(), 1, 0, 0, 0, 0, time.UTC).AddDate(0, -1, 0)
	return Period{From: first, Until: first.AddDate(0, 1, 0), Label: first.Format("2006-01")}
}
