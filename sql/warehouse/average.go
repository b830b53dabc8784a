package warehouse

import (
	"context"
	"database/sql"
	"fmt"
	"math/big"
	"strings"
)

// Moving average: the cost of boards on hand is one pool an item, whose average changes only
// when boards come in. SQL can't carry that state from one receipt to the next; the pools are
// therefore walked here, in ledger order, and everything else stays in SQL.

// averageEvent is one movement of one item, or a vendor's credit on boards on hand.
type averageEvent struct {
	item    string
	moveID  int64
	boards  int64 // into the pool above 0, out of it below
	cents   sql.NullInt64
	unknown bool // no price is known for the boards that come in
	served  int64
	credit  int64

	// Of a return: the issue whose posted cost it comes back at.
	source             sql.NullInt64
	over, under        int64 // share of that cost: boards x length over boards x length
	fallback           int64 // cents where that issue has no price
	fallbackHasNoPrice bool
	shortCents         int64
	shortHasNoPrice    bool
	shortBoards        int64
}

// pool is the boards of one item at one average.
type pool struct {
	boards, cents int64 // when the average was last figured
	taken         int64 // boards since
	unknown       bool
}

// share returns the cents of the first n boards taken at this average, half up.
func (p *pool) share(n int64) int64 {
	if p.boards == 0 {
		return 0
	}
	return quotient(n, p.cents, p.boards)
}

// settle figures the average anew after boards and cents came in.
func (p *pool) settle(boards, cents int64) {
	p.cents += cents - p.share(p.taken)
	p.boards += boards - p.taken
	p.taken = 0
}

// quotient is a x b / c to the nearest whole, halves away from zero; c is above 0.
func quotient(a, b, c int64) int64 {
	product := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
	negative := product.Sign() < 0
	product.Abs(product).Lsh(product, 1).Add(product, big.NewInt(c)).Quo(product, new(big.Int).Lsh(big.NewInt(c), 1))
	if negative {
		product.Neg(product)
	}
	return product.Int64()
}

// averageEvents lists movements in ledger order, credits in the evening of their day.
const averageEvents = `
WITH served AS (
    SELECT in_id, sum(boards)::BIGINT AS boards FROM steps.issue_parts WHERE is_short AND in_id IS NOT NULL GROUP BY in_id
),
short AS (
    SELECT out_id, sum(boards)::BIGINT AS boards, sum(posted_cents)::BIGINT AS cents, bool_or(posted_unpriced) AS unpriced
    FROM steps.issue_costs WHERE is_short GROUP BY out_id
),
moves AS (
    SELECT
        concat_ws(chr(31), m.size, m.species, m.grade, m.length_16ths) AS item, m.move_id, m.moved_on, 0 AS evening, m.queue_boards AS boards,
        c.cents, coalesce(c.unpriced, false) AS unpriced, coalesce(v.boards, 0) AS served, 0::BIGINT AS credit,
        CASE WHEN m.queue_boards > 0 AND c.in_id IS NULL THEN r.out_id END AS source,
        coalesce(r.returned_boards * r.length_16ths, 0) AS over, coalesce(r.issued_boards * r.parent_length_16ths, 1) AS under,
        coalesce(CASE WHEN f.in_id IS NOT NULL THEN rounded_quotient(f.cents::HUGEINT * m.queue_boards, f.boards)
             ELSE rounded_quotient(m.queue_boards::HUGEINT * section_16ths(m.size) * m.length_16ths * coalesce(m.quoting_e4, 0), 36864::HUGEINT * 100000) END, 0) AS fallback,
        f.in_id IS NULL AND m.quoting_e4 IS NULL AS fallback_unpriced,
        coalesce(s.boards, 0) AS short_boards, coalesce(s.cents, 0) AS short_cents, coalesce(s.unpriced, false) AS short_unpriced
    FROM steps.board_moves AS m
    JOIN steps.last_landed AS l ON l.move_id = m.move_id
    LEFT JOIN steps.layer_costs AS c ON c.in_id = m.move_id
    LEFT JOIN steps.layer_costs AS f ON f.in_id = l.receipt_id
    LEFT JOIN steps.return_sources AS r ON r.in_id = m.move_id
    LEFT JOIN served AS v ON v.in_id = m.move_id
    LEFT JOIN short AS s ON s.out_id = m.move_id
    WHERE m.queue_boards <> 0
    UNION ALL
    SELECT concat_ws(chr(31), m.size, m.species, m.grade, m.length_16ths), m.move_id, k.credited_on, 1, 0, NULL, false, 0, k.left_cents, NULL, 0, 1, 0, false, 0, 0, false
    FROM steps.layer_credits AS k
    JOIN steps.board_moves AS m ON m.move_id = k.in_id
)
SELECT item, move_id, boards, cents, unpriced, served, credit, source, over, under, fallback, fallback_unpriced, short_boards, short_cents, short_unpriced
FROM moves
ORDER BY moved_on, evening, move_id`

// fillAverageCosts walks the pools and writes steps.average_costs, and the costs of the
// layers that returns open.
func fillAverageCosts(ctx context.Context, tx *sql.Tx) error {
	parts, err := averageParts(ctx, tx)
	if err != nil {
		return err
	}
	events, err := readAverageEvents(ctx, tx)
	if err != nil {
		return err
	}
	pools := map[string]*pool{}
	posted, hasNoPrice := map[int64]int64{}, map[int64]bool{}
	var costs, layers, left []string
	order := []string{}
	for _, e := range events {
		p := pools[e.item]
		if p == nil {
			p = &pool{}
			pools[e.item] = p
			order = append(order, e.item)
		}
		switch {
		case e.credit != 0:
			p.settle(0, -e.credit)
		case e.boards > 0:
			cents, unknown := e.cents.Int64, e.unknown
			if e.source.Valid {
				cents, unknown = quotient(posted[e.source.Int64], e.over, e.under), false
				if hasNoPrice[e.source.Int64] {
					cents, unknown = e.fallback, e.fallbackHasNoPrice
				}
				layers = append(layers, fmt.Sprintf("(%d, %d, %d, %t)", e.moveID, cents, e.boards, unknown))
			}
			if p.boards == p.taken {
				p.unknown = false
			}
			p.settle(e.boards-e.served, cents-quotient(e.served, cents, e.boards))
			p.unknown = p.unknown || unknown
		default:
			posted[e.moveID], hasNoPrice[e.moveID] = e.shortCents, e.shortHasNoPrice
			for _, part := range parts[e.moveID] {
				cents := p.share(p.taken+part.boards) - p.share(p.taken)
				p.taken += part.boards
				posted[e.moveID] += cents
				hasNoPrice[e.moveID] = hasNoPrice[e.moveID] || p.unknown
				costs = append(costs, fmt.Sprintf("(%d, %d, %d, %d, %t)", e.moveID, part.layerTo, part.inID, cents, p.unknown))
			}
		}
	}
	for _, item := range order {
		p := pools[item]
		left = append(left, fmt.Sprintf("('%s', %d, %d)", strings.ReplaceAll(item, "'", "''"), p.boards-p.taken, p.cents-p.share(p.taken)))
	}
	if err := insertRows(ctx, tx, "steps.average_costs", costs); err != nil {
		return err
	}
	if err := insertRows(ctx, tx, "steps.layer_costs", layers); err != nil {
		return err
	}
	return insertRows(ctx, tx, "steps.average_pools", left)
}

// averagePart is boards of an issue that were on hand.
type averagePart struct{ inID, layerTo, boards int64 }

func averageParts(ctx context.Context, tx *sql.Tx) (map[int64][]averagePart, error) {
	rows, err := tx.QueryContext(ctx, "SELECT out_id, in_id, layer_to, boards FROM steps.issue_parts WHERE NOT is_short ORDER BY out_id, in_id, layer_to")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	parts := map[int64][]averagePart{}
	for rows.Next() {
		var out int64
		var part averagePart
		if err := rows.Scan(&out, &part.inID, &part.layerTo, &part.boards); err != nil {
			return nil, err
		}
		parts[out] = append(parts[out], part)
	}
	return parts, rows.Err()
}

func readAverageEvents(ctx context.Context, tx *sql.Tx) ([]averageEvent, error) {
	rows, err := tx.QueryContext(ctx, averageEvents)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var events []averageEvent
	for rows.Next() {
		var e averageEvent
		if err := rows.Scan(&e.item, &e.moveID, &e.boards, &e.cents, &e.unknown, &e.served, &e.credit, &e.source, &e.over, &e.under,
			&e.fallback, &e.fallbackHasNoPrice, &e.shortBoards, &e.shortCents, &e.shortHasNoPrice); err != nil {
			return nil, err
		}
		events = append(events, e)
	}
	return events, rows.Err()
}
