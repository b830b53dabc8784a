package warehouse

import (
	"context"
	"fmt"
	"strings"

	"trusstally/ingest/problem"
)

// wageTables hold pay: each row is, or can be turned into, the dollars of one employee.
var wageTables = map[string]bool{
	"wages": true, "pay_weeks": true, "other_pay": true, "payroll": true,
	"steps.wage_versions": true, "steps.punches": true, "steps.other_pay_rows": true, "steps.other_pay_weeks": true,
	"steps.salary_weeks": true, "steps.salary_retro": true, "steps.pay_rows": true, "steps.pay_totals": true, "steps.spread_premiums": true, "steps.retro_weeks": true,
	"steps.labour_postings": true, "steps.premium_postings": true, "steps.other_pay_postings": true, "steps.cost_postings": true, "steps.postings_now": true,
	"closed_dollars": true, "steps.punch_faults": true,
	"steps.pay_spans": true, "steps.register_differences": true,
	"history.wages": true, "history.timecards": true, "history.other_pay": true, "history.payroll": true,
}

// wageColumns are pay wherever they stand.
var wageColumns = map[string]bool{"rate_usd": true, "rate_e4": true, "overtime_bill_rate_usd": true, "salary_hours": true,
	"owed_rate_e4": true, "overtime_bill_e4": true, "owed_bill_e4": true}

// veiled are the tables that a reader without --wages sees through a view of the same name:
// timecards without the rate, and labour dollars never at the grain of one employee.
var veiled = map[string]string{
	"timecards": `CREATE TEMP VIEW timecards AS SELECT * EXCLUDE (rate_usd) FROM %[1]s.main.timecards`,
	"dollar_ledger": `CREATE TEMP VIEW dollar_ledger AS
WITH postings AS (
    SELECT d.*, d.class IN ('direct_labour', 'burden', 'overtime_premium', 'waiting', 'stoppage', 'indirect', 'leave', 'bonus', 'rate_variance', 'retro', 'reimbursement') AS is_pay
    FROM %[1]s.main.dollar_ledger AS d
),
pools AS (
    SELECT p.*, t.employee, w.workweek_start
    FROM postings AS p
    LEFT JOIN (
        SELECT employee, import_id, import_line FROM %[1]s.main.timecards
        UNION ALL
        SELECT employee, import_id, import_line FROM %[1]s.main.other_pay
    ) AS t ON t.import_id = p.import_id AND t.import_line = p.line
    LEFT JOIN %[1]s.main.day_parts AS w ON w.day = p.posted_on
    WHERE p.is_pay AND p.job IS NULL
    QUALIFY row_number() OVER (PARTITION BY p.import_id, p.line, p.class, p.posted_on, p.usd ORDER BY w.starts_utc) = 1
)
SELECT posted_on, occurred_on, class, pool, job, usd, feed, import_id, line, remake, original_on
FROM postings WHERE NOT is_pay
UNION ALL
SELECT posted_on, occurred_on, class, pool, job, sum(usd)::DECIMAL(18,2), feed, NULL, NULL, remake, original_on
FROM postings WHERE is_pay AND job IS NOT NULL
GROUP BY posted_on, occurred_on, class, pool, job, feed, remake, original_on
UNION ALL
SELECT max(posted_on), max(occurred_on), class, pool, NULL, CASE WHEN count(DISTINCT employee) >= 3 THEN sum(usd) END::DECIMAL(18,2), feed, NULL, NULL, NULL, max(original_on)
FROM pools
GROUP BY workweek_start, class, pool, feed`,
}

// allowedFunctions are the table functions that a reader's SELECT may call.
var allowedFunctions = map[string]bool{"range": true, "generate_series": true, "unnest": true, "job_position": true, "job_forecast": true, "job_bridge": true, "share_delivered": true, "parts_to_cut": true, "job_stock": true, "journal_lines": true,
	"left_jobs": true, "received_not_invoiced": true}

// wageFunctions add up pay of the plant, which may be one or two people's.
var wageFunctions = map[string]bool{"journal_lines": true}

// OpenForQuery opens the warehouse as OpenLocked does, for the SELECT of a reader. Without
// wages, pay is veiled.
func OpenForQuery(ctx context.Context, file string, wages bool) (*Warehouse, error) {
	if wages {
		return OpenLocked(ctx, file)
	}
	prepare := []string{}
	for _, name := range []string{"timecards", "dollar_ledger"} {
		prepare = append(prepare, fmt.Sprintf(veiled[name], catalogName()))
	}
	return OpenLocked(ctx, file, prepare...)
}

// Guard refuses what a reader's SELECT must not touch: table functions that are not on the
// list, files, and, without wages, pay. Its errors are a problem.List of exit code 2.
func (w *Warehouse) Guard(ctx context.Context, text string, wages bool) error {
	found, err := w.References(ctx, text)
	if err != nil {
		return err
	}
	for _, function := range found.Functions {
		if !allowedFunctions[function] {
			return problem.List{{What: fmt.Sprintf("the function %s can't be called from here", function), Code: CodeNotAllowed, Usage: true,
				Hint: "read the tables that trusstally list --tables shows"}}
		}
	}
	for _, table := range found.Tables {
		if strings.ContainsAny(table.Name, "./\\:*") {
			return problem.List{{What: fmt.Sprintf("a file can't be read from here (%s)", table.Name), Code: CodeNotAllowed, Usage: true,
				Hint: "import the file first"}}
		}
	}
	if wages {
		return nil
	}
	for _, function := range found.Functions {
		if wageFunctions[function] {
			return wagesHidden(function)
		}
	}
	if hidden := found.wageReference(); hidden != "" {
		return wagesHidden(hidden)
	}
	return nil
}

// HoldsWages says whether a SELECT reads pay at the grain of one employee, and what it
// reads.
func (w *Warehouse) HoldsWages(ctx context.Context, text string) (bool, error) {
	found, err := w.References(ctx, text)
	if err != nil {
		return false, err
	}
	for _, table := range found.Tables {
		if wageTables[table.plain()] {
			return true, nil
		}
	}
	for _, function := range found.Functions {
		if wageFunctions[function] {
			return true, nil
		}
	}
	return false, nil
}

// wageReference names the first thing in a SELECT that is pay, or "".
func (r References) wageReference() string {
	for _, table := range r.Tables {
		// A veiled table written with its schema would step around the veil.
		if wageTables[table.plain()] || table.qualified() && veiled[table.plain()] != "" {
			return table.plain()
		}
	}
	for _, column := range r.Columns {
		if wageColumns[column] {
			return column
		}
	}
	return ""
}

func wagesHidden(what string) error {
	return problem.List{{What: fmt.Sprintf("%s holds wages", what), Code: CodeWagesHidden, Usage: true,
		Hint: "wages are private: add --wages if you may see them"}}
}

// WagesHidden is the refusal of something that holds wages, such as "the sheet payroll_bridge".
func WagesHidden(what string) error { return wagesHidden(what) }
