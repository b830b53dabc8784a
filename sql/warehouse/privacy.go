package warehouse

import (
	"context"
	"fmt"
	"sort"
	"strings"

	"trusstally/ingest/problem"
)

// A veil is a view that a reader sees in place of the table of its name.
type veil struct {
	name  string
	wages bool   // lifted with --wages
	view  string // %[1]s is the catalog
}

// veils hide pay at the grain of one employee and who was in an incident. Labour of a job has
// a row a day and class; days of fewer than three people are one row, since the jobs' totals
// are open, and where these days have fewer than three people in all, so is the whole job. A
// pool's week of fewer than three people is blank, and no open table has a total that it could
// be worked out from.
var veils = []veil{
	{"timecards", true, `CREATE TEMP VIEW timecards AS SELECT * EXCLUDE (rate_usd) FROM %[1]s.main.timecards`},
	{"dollar_ledger", true, `CREATE TEMP VIEW dollar_ledger AS
WITH people AS (
    SELECT import_id, import_line, any_value(employee) AS employee
    FROM (
        SELECT import_id, import_line, employee FROM %[1]s.main.timecards
        UNION SELECT import_id, import_line, employee FROM %[1]s.history.timecards
        UNION SELECT import_id, import_line, employee FROM %[1]s.main.other_pay
        UNION SELECT import_id, import_line, employee FROM %[1]s.history.other_pay
    )
    GROUP BY import_id, import_line
),
postings AS (
    SELECT
        d.*, p.employee,
        d.class IN ('direct_labour', 'burden', 'overtime_premium', 'waiting', 'stoppage', 'indirect', 'leave', 'bonus', 'rate_variance', 'retro', 'reimbursement')
            AND d.feed <> 'opening_wip' AS is_pay
    FROM %[1]s.main.dollar_ledger AS d
    LEFT JOIN people AS p ON p.import_id = d.import_id AND p.import_line = d.line
),
-- Burden or premium of one or two people on a job is among its direct labour.
classes AS (
    SELECT job, class, CASE WHEN count(DISTINCT employee) >= 3 THEN class ELSE 'direct_labour' END AS shown
    FROM postings
    WHERE is_pay AND job IS NOT NULL
    GROUP BY job, class
),
on_jobs AS (
    SELECT p.posted_on, p.occurred_on, c.shown AS class, p.pool, p.job, p.usd, p.feed, p.original_on, p.employee
    FROM postings AS p
    JOIN classes AS c ON c.job = p.job AND c.class = p.class
    WHERE p.is_pay
),
thin AS (
    SELECT job, class, posted_on
    FROM on_jobs
    GROUP BY job, class, posted_on
    HAVING count(DISTINCT employee) < 3
),
-- Where one or two people have all of the thin days, every day of the job counts as thin.
whole AS (
    SELECT o.job, o.class
    FROM on_jobs AS o
    SEMI JOIN thin AS t ON t.job = o.job AND t.class = o.class AND t.posted_on = o.posted_on
    GROUP BY o.job, o.class
    HAVING count(DISTINCT o.employee) < 3
),
placed AS (
    SELECT o.*, t.job IS NOT NULL OR w.job IS NOT NULL AS is_thin
    FROM on_jobs AS o
    LEFT JOIN thin AS t ON t.job = o.job AND t.class = o.class AND t.posted_on = o.posted_on
    LEFT JOIN whole AS w ON w.job = o.job AND w.class = o.class
),
pools AS (
    SELECT p.*, w.workweek_start
    FROM postings AS p
    LEFT JOIN %[1]s.main.day_parts AS w ON w.day = p.posted_on
    WHERE p.is_pay AND p.job IS NULL
    QUALIFY row_number() OVER (PARTITION BY p.import_id, p.line, p.class, p.posted_on, p.usd ORDER BY w.starts_utc) = 1
)
-- The engine may look at a reader's own condition before it looks at is_pay, and an error of
-- that condition would quote the dollars: of a row of pay it must find none.
SELECT posted_on, occurred_on, class, pool, job, CASE WHEN NOT is_pay THEN usd END::DECIMAL(18,2) AS usd, feed, import_id, line, remake, original_on
FROM postings WHERE NOT is_pay
UNION ALL
SELECT posted_on, max(occurred_on), class, NULL, job, sum(usd)::DECIMAL(18,2), max(feed), NULL, NULL, NULL, max(original_on)
FROM placed
WHERE NOT is_thin
GROUP BY posted_on, class, job
UNION ALL
SELECT max(posted_on), max(occurred_on), class, NULL, job, sum(usd)::DECIMAL(18,2), max(feed), NULL, NULL, NULL, max(original_on)
FROM placed
WHERE is_thin
GROUP BY class, job
UNION ALL
SELECT max(posted_on), max(occurred_on), class, pool, NULL, CASE WHEN count(DISTINCT employee) >= 3 THEN sum(usd) END::DECIMAL(18,2), feed, NULL, NULL, NULL, max(original_on)
FROM pools
GROUP BY workweek_start, class, pool, feed`},
	// The plant's payroll in all, less the pools that are shown, is the pool that isn't.
	{"tie_outs", true, `CREATE TEMP VIEW tie_outs AS
SELECT * REPLACE (CASE WHEN control NOT LIKE 'gross pay%%' THEN expected END AS expected, CASE WHEN control NOT LIKE 'gross pay%%' THEN actual END AS actual)
FROM %[1]s.main.tie_outs`},
	{"incidents", false, `CREATE TEMP VIEW incidents AS SELECT * EXCLUDE (station, crew) FROM %[1]s.main.incidents`},
	{"rejects", false, `CREATE TEMP VIEW rejects AS
SELECT * REPLACE (CASE WHEN feed <> 'incidents' THEN value END AS value, CASE WHEN feed <> 'incidents' THEN reason ELSE code END AS reason)
FROM %[1]s.main.rejects`},
}

func veilOf(table string) *veil {
	for i := range veils {
		if veils[i].name == table {
			return &veils[i]
		}
	}
	return nil
}

// OpenForQuery opens the warehouse as OpenLocked does, for the SELECT of a reader: who was
// in an incident is veiled and, without wages, pay. The engine gets no more memory than the
// limit.
func OpenForQuery(ctx context.Context, file string, wages bool, limits Limits) (*Warehouse, error) {
	prepare := []string{fmt.Sprintf("SET memory_limit='%dMiB'", limits.MemoryMiB)}
	for _, v := range veils {
		if !wages || !v.wages {
			prepare = append(prepare, fmt.Sprintf(v.view, catalogName()))
		}
	}
	w, err := OpenLocked(ctx, file, prepare...)
	if err == nil {
		w.limits = limits
	}
	return w, err
}

// Guard refuses what a reader's SELECT must not touch: tables and functions that are not on
// the lists, files, and, without wages, pay. Its errors are a problem.List of exit code 2.
func (w *Warehouse) Guard(ctx context.Context, text string, wages bool) error {
	missteps, err := w.inspect(ctx, text, wages, false)
	if err != nil || len(missteps) == 0 {
		return err
	}
	var list problem.List
	for _, m := range missteps {
		list = append(list, m.problem)
	}
	return list
}

// GuardSheet is Guard for the text of a sheet's file, which must also be sorted and tell no
// time of its own. Every problem has its place in the file.
func (w *Warehouse) GuardSheet(ctx context.Context, file, text string, wages bool) (problem.List, error) {
	missteps, err := w.inspect(ctx, text, wages, true)
	var list problem.List
	for _, m := range missteps {
		m.problem.Place, m.problem.Usage = placeIn(file, text, m.at), false
		list = append(list, m.problem)
	}
	return list, err
}

// placeIn is file:line:column of a byte offset, or the file.
func placeIn(file, text string, at int) string {
	if at < 0 || at > len(text) {
		return file
	}
	before := text[:at]
	return fmt.Sprintf("%s:%d:%d", file, strings.Count(before, "\n")+1, len([]rune(before[strings.LastIndexByte(before, '\n')+1:]))+1)
}

// inspect returns everything that a SELECT must not do, in the order of the text.
func (w *Warehouse) inspect(ctx context.Context, text string, wages, sheet bool) ([]misstep, error) {
	found, fault, err := w.parse(ctx, text)
	if err != nil {
		return nil, err
	}
	if fault != nil {
		return []misstep{*fault}, nil
	}
	var missteps []misstep
	refuse := func(at int, code, what, hint string) {
		missteps = append(missteps, misstep{&problem.Problem{What: what, Code: code, Usage: true, Hint: hint}, at})
	}
	hidden := func(at int, name string) {
		p := wagesHidden(name)
		if sheet {
			p.Hint = "wages are private: if the sheet may show them, list it in plant.toml under [reports] wages"
		}
		missteps = append(missteps, misstep{p, at})
	}
	for _, function := range found.Functions {
		switch {
		case !allowedFunctions[function.Name]:
			refuse(function.At, CodeNotAllowed, fmt.Sprintf("the function %s can't be called from here", function.Name), "read the tables that trusstally list --tables shows")
		case wageFunctions[function.Name] && !wages:
			hidden(function.At, function.Name)
		}
	}
	for _, function := range found.Scalars {
		switch {
		case clockScalars[function.Name] && !sheet, allowedScalars[function.Name]:
		case clockScalars[function.Name]:
			refuse(function.At, CodeNotAllowed, fmt.Sprintf("a sheet doesn't ask for the time (%s)", function.Name), "its days are $from and $until: the same data give the same sheet, whenever it is written")
		default:
			refuse(function.At, CodeNotAllowed, fmt.Sprintf("the function %s can't be called from here", function.Name), "only functions that work on their arguments alone can")
		}
	}
	for _, function := range found.Unbounded {
		refuse(function.At, CodeNotAllowed, fmt.Sprintf("%s needs a fixed length or format, %d letters at the most", function.Name, longestPadding), "write the number or the format itself, not an expression")
	}
	for _, table := range found.Tables {
		w.inspectTable(table, found.With, wages, refuse, hidden)
	}
	for _, column := range found.Columns {
		switch {
		case wageColumns[column.Name] && !wages:
			hidden(column.At, column.Name)
		case sheet && clockScalars[column.Name] && strings.Contains(column.Name, "_"), sheet && (column.Name == "localtime" || column.Name == "localtimestamp"):
			refuse(column.At, CodeNotAllowed, fmt.Sprintf("a sheet doesn't ask for the time (%s)", column.Name), "its days are $from and $until: the same data give the same sheet, whenever it is written")
		}
	}
	if sheet && !found.Sorted {
		refuse(-1, CodeNotSorted, "the SELECT has no ORDER BY", "sort the rows: without it they may come in another order each time")
	}
	sort.SliceStable(missteps, func(i, j int) bool { return missteps[i].at < missteps[j].at })
	return missteps, nil
}

// inspectTable refuses a table that the reader may not see.
func (w *Warehouse) inspectTable(table Table, with []string, wages bool, refuse func(at int, code, what, hint string), hidden func(at int, name string)) {
	name := table.plain()
	covering := veilOf(name)
	switch {
	case wageTables[name] && !wages:
		hidden(table.At, name)
	// A veiled table written with its schema would step around the veil.
	case covering != nil && table.qualified() && covering.wages && !wages:
		hidden(table.At, name)
	case covering != nil && table.qualified() && !covering.wages:
		refuse(table.At, CodeNotAllowed, fmt.Sprintf("%s can't be read from here with a schema before it", name), "write the name alone")
	case openTables[name], wageTables[name]:
	case !table.qualified() && contains(with, table.Name) && !closedTables[name]:
	case strings.ContainsAny(table.Name, "./\\:*?"):
		refuse(table.At, CodeNotAllowed, fmt.Sprintf("a file can't be read from here (%s)", table.Name), "import the file first")
	default:
		hint := "trusstally list --tables shows the tables"
		if near := problem.Nearest(name, namesIn(openTables)); near != "" {
			hint = "did you mean " + near + "?"
		}
		refuse(table.At, CodeNotAllowed, fmt.Sprintf("there is no table of that name to read (%s)", name), hint)
	}
}

func contains(list []string, name string) bool {
	for _, one := range list {
		if one == name {
			return true
		}
	}
	return false
}

func namesIn(set map[string]bool) []string {
	list := make([]string, 0, len(set))
	for name := range set {
		list = append(list, name)
	}
	sort.Strings(list)
	return list
}

// HoldsWages says whether a SELECT reads pay at the grain of one employee.
func (w *Warehouse) HoldsWages(ctx context.Context, text string) (bool, error) {
	found, err := w.References(ctx, text)
	if err != nil {
		return false, err
	}
	for _, table := range found.Tables {
		if wageTables[table.plain()] && !addedUpInBooks[table.plain()] {
			return true, nil
		}
	}
	for _, function := range found.Functions {
		if wageFunctions[function.Name] && !addedUpInBooks[function.Name] {
			return true, nil
		}
	}
	return false, nil
}

func wagesHidden(what string) *problem.Problem {
	return &problem.Problem{What: fmt.Sprintf("%s holds wages", what), Code: CodeWagesHidden, Usage: true, Hint: "wages are private: add --wages if you may see them"}
}

// WagesHidden is the refusal of something that holds wages, such as "the sheet payroll_bridge".
func WagesHidden(what string) error { return problem.List{wagesHidden(what)} }
