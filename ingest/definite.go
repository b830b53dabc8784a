package ingest

import (
	"fmt"
	"time"
)

// clockChange is a change of a zone's offset, in wall clocks: those from from until until
// are skipped or shown twice, and say no instant.
type clockChange struct {
	from, until time.Time // in UTC, which means nothing
	before      int       // seconds east of UTC before the change
	after       int
}

// clockSpan is how a zone's clocks stood over a span of wall clocks.
type clockSpan struct {
	offset  int // seconds east of UTC at its beginning
	changes []clockChange
}

// farthestWall is more than a wall clock is ever away from UTC.
const farthestWall = 48 * time.Hour

// clockSpanOf returns how the clocks of a zone stood from the wall clock first to last, in
// UTC, which means nothing. ok is false where two changes stand so close that their wall
// clocks could meet: the instants are then found one by one, by instantsOf.
//
// A day at a time is looked at: no zone has changed its clocks and changed them back within
// one. time.Time.ZoneBounds would tell changes at once, but not rightly at the end of some
// years that lie beyond the zone's table.
func clockSpanOf(zone *time.Location, first, last time.Time) (span clockSpan, ok bool) {
	at := first.Add(-farthestWall)
	_, span.offset = at.In(zone).Zone()
	before := span.offset
	for end := last.Add(farthestWall); at.Before(end); {
		next := at.Add(24 * time.Hour)
		_, after := next.In(zone).Zone()
		if after != before {
			change := changeBetween(zone, at, next, before)
			wall := func(offset int) time.Time { return change.Add(time.Duration(offset) * time.Second) }
			c := clockChange{from: wall(min(before, after)), until: wall(max(before, after)), before: before, after: after}
			if n := len(span.changes); n > 0 && c.from.Sub(span.changes[n-1].until) < farthestWall {
				return span, false
			}
			span.changes = append(span.changes, c)
		}
		at, before = next, after
	}
	return span, true
}

// changeBetween returns the instant, to the second, at which a zone's offset is no longer
// what it was at low; at high it is another.
func changeBetween(zone *time.Location, low, high time.Time, before int) time.Time {
	for high.Sub(low) > time.Second {
		middle := low.Add(high.Sub(low) / 2).Truncate(time.Second)
		if _, offset := middle.In(zone).Zone(); offset == before {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// instant is SQL for the instant that a wall clock of the span shows, as Moment has it: NULL
// for one that a change skipped or repeated.
func (s clockSpan) instant(wall string) string {
	cases, offset := "", s.offset
	for _, c := range s.changes {
		cases += fmt.Sprintf("WHEN %[1]s < %[2]s THEN %[3]s WHEN %[1]s < %[4]s THEN NULL ", wall, timestampText(c.from), instantAt(wall, c.before), timestampText(c.until))
		offset = c.after
	}
	if cases == "" {
		return instantAt(wall, offset)
	}
	return fmt.Sprintf("CASE %sELSE %s END", cases, instantAt(wall, offset))
}

func timestampText(at time.Time) string { return "TIMESTAMP " + quoteText(at.Format(time.DateTime)) }

// instantAt is SQL for the instant of a wall clock that is so many seconds east of UTC.
func instantAt(wall string, offset int) string {
	return fmt.Sprintf("(%s - INTERVAL (%d) SECOND)", wall, offset)
}
