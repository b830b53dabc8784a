package ingest

import (
	"fmt"
	"slices"
	"strings"

	"trusstally/ingest/problem"
)

// proposedNames are other words for a column under which plants have it. They are only
// proposed, never read by: in one plant Code is a pay code, in another a reason.
func proposedNames() map[string][]string {
	return map[string][]string{
		"employee": {"badge", "badge no", "emp", "emp id", "emp no", "clock no", "worker"}, "crew": {"team", "gang"}, "shift": {"shift code"},
		"station": {"machine", "work center", "work centre", "workcenter", "table", "saw", "resource"}, "work_date": {"date", "day", "punch date", "workday"},
		"started_at": {"in", "time in", "clock in", "punch in", "start", "start time", "started", "begin", "from", "stopped"}, "ended_at": {"out", "time out", "clock out", "punch out", "end", "end time", "ended", "stop", "to", "until"},
		"unpaid_min": {"lunch", "break", "meal", "lunch min", "unpaid"}, "pay_code": {"code", "pay type", "earn code", "earning"}, "hours": {"hrs", "total hours", "hours worked"}, "rate_usd": {"rate", "pay rate", "hourly rate", "base rate"},
		"received_on": {"received", "date received", "receipt date", "rcvd", "date"}, "vendor": {"supplier", "mill", "vendor no", "vendor name"}, "document": {"packing slip", "slip", "ticket", "delivery note", "document no", "reference", "ref", "tally"},
		"line": {"line no", "ln", "seq"}, "size": {"nominal", "dimension", "dim", "section"}, "species": {"spec", "wood", "species group"}, "grade": {"grd"}, "length": {"len", "stock length", "lgth"},
		"boards": {"pcs", "pieces", "qty", "quantity", "count", "board count"}, "usd_per_mbf": {"price", "price/mbf", "price per mbf", "$/mbf", "mbf price", "unit price"}, "freight_usd": {"freight"},
		"invoice": {"inv", "inv no", "bill", "bill no"}, "invoiced_on": {"invoice date", "inv date", "bill date", "date"}, "amount_usd": {"amt", "net", "net amount", "extension", "total", "value", "cost"},
		"job": {"order", "order no", "job id", "work order", "wo", "project", "sales order"}, "truss": {"mark", "label", "truss id", "truss label"}, "quantity": {"count", "pcs", "trusses", "built"},
		"price_usd": {"sell price", "selling price", "sold for", "contract", "contract amount", "total price"}, "customer": {"cust", "client", "sold to", "account"},
		"ordered_on": {"order date", "sold on", "ordered", "date"}, "due_on": {"due", "due date", "need by", "required date"}, "promised_on": {"promised", "promise date"}, "shipped_on": {"ship date", "shipped"},
		"used_at": {"used", "date used", "timestamp", "date"}, "reason": {"why", "cause", "code"}, "counted_on": {"count date", "counted", "date"}, "delivered_on": {"delivery date", "delivered", "date"}, "load": {"load no", "trip"},
		"incurred_on": {"cost date", "date"}, "kind": {"type", "class"}, "effective_on": {"effective", "effective date", "valid from", "date"}, "order": {"po", "po no", "purchase order"},
		"finished_at": {"finished", "completed", "done", "end"}, "setup_started_at": {"setup", "setup start", "set-up start"}, "build_started_at": {"build start", "start"}, "month": {"period"}, "pool": {"category"}, "batch": {"run", "batch id"},
	}
}

// How sure a heading stands for a column.
const (
	noMatch = iota
	nearMatch
	wordMatch
	ownMatch // the file is read so without a word in plant.toml
)

// matchColumns finds the column of each heading, each column once, the surest first.
func matchColumns(names []string, feed Feed) (columns, sure []int) {
	columns, sure = make([]int, len(names)), make([]int, len(names))
	for i := range columns {
		columns[i] = -1
	}
	taken := map[int]bool{}
	match := func(how int, find func(plain string) int) {
		for i, name := range names {
			plain := plainHeader(name)
			if columns[i] >= 0 || plain == "" {
				continue
			}
			if column := find(plain); column >= 0 && !taken[column] {
				columns[i], sure[i], taken[column] = column, how, true
			}
		}
	}
	match(ownMatch, func(plain string) int {
		for i, c := range feed.Columns {
			if plainHeader(c.Name) == plain {
				return i
			}
		}
		return columnNumber(feed, plainAliases()[plain])
	})
	words := proposedNames()
	match(wordMatch, func(plain string) int {
		for i, c := range feed.Columns {
			if !taken[i] && slices.Contains(words[c.Name], plain) {
				return i
			}
		}
		return -1
	})
	match(nearMatch, func(plain string) int {
		var free []string
		for i, c := range feed.Columns {
			if !taken[i] {
				free = append(free, plainHeader(c.Name))
			}
		}
		near := problem.Nearest(plain, free)
		if near == "" || len(plain) < 4 {
			return -1
		}
		return columnNumber(feed, strings.ReplaceAll(near, " ", "_"))
	})
	return columns, sure
}

// recognise finds the sample, the header row and the feed that go together best.
func (p *proposal) recognise(samples []sample, feedName string) error {
	feeds := Feeds()
	if feedName != "" {
		feed, ok := FeedByName(feedName)
		if !ok {
			return fileProblem(CodeUnknownFeed, p.file, fmt.Sprintf("there is no feed of that name (%s)", feedName), "trusstally list --feeds shows them", nil)
		}
		feeds = []Feed{feed}
	}
	named := ""
	if feed, err := FeedOfFile(p.file, p.settings.Feeds); err == nil {
		named = feed.Name
	}
	best, second := 0, 0
	for _, s := range samples {
		for head := 0; head < min(len(s.rows), mostTitleRows); head++ {
			for _, feed := range feeds {
				score := fit(s.rows[head].cells, feed)
				if score > 0 && feed.Name == named {
					score += 6
				}
				switch {
				case score > best:
					if p.feed.Name != feed.Name {
						second, p.other = best, p.feed.Name
					}
					best, p.sample, p.head, p.feed = score, s, head, feed
				case score > second && feed.Name != p.feed.Name:
					second, p.other = score, feed.Name
				}
			}
		}
	}
	if best < 3 {
		return fileProblem(CodeUnknownFeed, p.file, "no row looks like the header row of a feed", "trusstally list --feeds shows the feeds and their columns; --feed says which one it is", nil)
	}
	if second < best {
		p.other = ""
	}
	p.names = p.sample.rows[p.head].cells
	p.rows, p.whole = p.sample.rows[p.head+1:], p.sample.whole
	return nil
}

// fit says how well a row of headings fits a feed: what it has counts for it, what it lacks
// against it.
func fit(names []string, feed Feed) int {
	if len(names) < 2 {
		return 0
	}
	columns, sure := matchColumns(names, feed)
	score, found := 0, 0
	has := map[int]bool{}
	for i, column := range columns {
		if column >= 0 {
			score += sure[i]
			has[column] = true
			found++
		}
	}
	for i, c := range feed.Columns {
		if c.Required && c.Default == "" && !has[i] {
			score -= 2
		}
	}
	if found < 2 {
		return 0
	}
	return score
}
