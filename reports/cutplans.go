package reports

import (
	"context"
	"fmt"
	"runtime"
	"sort"
	"strconv"
	"strings"
	"sync"
	"time"

	"trusstally/reports/cutting"
)

// needsCutting is what a header line `needs: cutting` says: the sheet reads cut_plans,
// cut_plan_boards, buy_plans or buy_plan_boards, which FillCutting makes.
const needsCutting = "cutting"

// CutSolution is one cutting problem's bound and plan, in the form in which it is kept.
type CutSolution struct {
	Key         string
	Bound, Cost int64
	Boards      string // length in 64ths:number, comma-separated
	TooLong     int64
}

// cutTables are the temporary tables of FillCutting. Money is in ten-thousandths of a
// dollar, lengths of parts and bounds in 64ths of an inch.
var cutTables = []string{
	// grain: one pool (batch, day, week), its name, and size, species and grade
	`CREATE TEMP TABLE IF NOT EXISTS cut_plans (
    pool VARCHAR, name VARCHAR, size VARCHAR, species VARCHAR, grade VARCHAR,
    parts_64ths BIGINT, plan_e4 BIGINT, bound_e4 BIGINT, bound_64ths BIGINT, bound_boards BIGINT, too_long BIGINT)`,
	// grain: one row of cut_plans and stock length of its plan
	`CREATE TEMP TABLE IF NOT EXISTS cut_plan_boards (
    pool VARCHAR, name VARCHAR, size VARCHAR, species VARCHAR, grade VARCHAR, length_16ths INTEGER, boards BIGINT, board_e4 BIGINT)`,
	// grain: one size, species and grade that is still to be cut
	`CREATE TEMP TABLE IF NOT EXISTS buy_plans (
    size VARCHAR, species VARCHAR, grade VARCHAR, parts_64ths BIGINT, plan_e4 BIGINT, bound_e4 BIGINT, too_long BIGINT)`,
	// grain: one row of buy_plans and stock length of its plan
	`CREATE TEMP TABLE IF NOT EXISTS buy_plan_boards (
    size VARCHAR, species VARCHAR, grade VARCHAR, length_16ths INTEGER, boards BIGINT, board_e4 BIGINT)`,
	// grain: one problem that is looked up among those that the warehouse keeps
	`CREATE TEMP TABLE IF NOT EXISTS cut_problems (problem_key VARCHAR)`,
}

// cutDemands lists the parts of each pool, and the boards on offer on the day of its last
// cut, each pool's rows together: what a day and a week pool add is that their batches' parts
// share boards.
const cutDemands = `
WITH units AS (
    SELECT * FROM steps.cut_parts WHERE cut_on >= $from::DATE AND cut_on < $until::DATE
),
pools AS (
    SELECT 'batch' AS pool, unit_kind || ' ' || unit AS name, cut_on, size, species, grade, length_64ths, pieces FROM units
    UNION ALL
    SELECT 'day', cut_on::VARCHAR, cut_on, size, species, grade, length_64ths, pieces FROM units
    UNION ALL
    SELECT 'week', workweek_start::VARCHAR, cut_on, size, species, grade, length_64ths, pieces FROM units
),
summed AS (
    SELECT pool, name, max(cut_on) AS cut_on, size, species, grade, length_64ths, sum(pieces)::BIGINT AS pieces
    FROM pools
    GROUP BY pool, name, size, species, grade, length_64ths
)
SELECT pool, name, size, species, grade, max(cut_on) OVER (PARTITION BY pool, name) AS cut_on, length_64ths, pieces
FROM summed
ORDER BY pool, name, size, species, grade, length_64ths`

const cutOffers = `
SELECT l.size, l.species, l.grade, l.length_16ths, l.on_day, l.board_e4
FROM steps.length_prices AS l
WHERE l.on_day < $until::DATE
ORDER BY l.size, l.species, l.grade, l.length_16ths, l.on_day`

const buyDemands = `
SELECT 'buy' AS pool, '' AS name, size, species, grade, $until::DATE - 1 AS cut_on, length_64ths, pieces
FROM parts_to_cut($until::DATE)
ORDER BY size, species, grade, length_64ths`

// cutPool is the problem of one pool and class of lumber.
type cutPool struct {
	pool, name string
	class      [3]string // size, species, grade
	day        time.Time // of the last cut
	problem    cutting.Problem
}

// cutProblem is a problem and what is to be worked out of it.
type cutProblem struct {
	cutting.Problem
	solve func(context.Context, cutting.Problem, int64) (cutting.Solution, error)
}

// FillCutting works out the cutting bounds and plans of the period's batches, days and weeks,
// and of what is still to be cut at its end, and puts them where the sheets read them: the
// temporary tables of this connection. What the warehouse keeps is not worked out again;
// what was is returned, to be kept.
func FillCutting(ctx context.Context, from Source, period Period) ([]CutSolution, error) {
	if err := makeCutTables(ctx, from); err != nil {
		return nil, err
	}
	pools, err := cutPools(ctx, from, period)
	if err != nil {
		return nil, err
	}
	// Dollars decide the plan; of wood and of boards the bound alone is wanted. A week's pool is
	// worked out in dollars alone.
	problems := map[string]cutProblem{}
	for _, p := range pools {
		problems[p.problem.Key()] = cutProblem{p.problem, cutting.Solve}
		if p.pool == "batch" || p.pool == "day" {
			for _, other := range []cutting.Problem{p.problem.LeastWood(), p.problem.LeastBoards()} {
				problems[other.BoundKey()] = cutProblem{other, cutting.SolveBound}
			}
		}
	}
	known, err := keptSolutions(ctx, from, problems)
	if err != nil {
		return nil, err
	}
	fresh, err := solveAll(ctx, problems, known)
	if err != nil {
		return nil, err
	}
	for _, solution := range fresh {
		known[solution.Key] = solution
	}
	return fresh, storePlans(ctx, from, pools, known)
}

// makeCutTables makes the temporary tables, empty, where they are not there.
func makeCutTables(ctx context.Context, from Source) error {
	for _, table := range cutTables {
		if _, err := from.DB.ExecContext(ctx, table); err != nil {
			return err
		}
	}
	return nil
}

// cutPools reads the period's problems.
func cutPools(ctx context.Context, from Source, period Period) ([]*cutPool, error) {
	days := map[string]any{"from": day(period.From), "until": day(period.Until)}
	type offer struct {
		length int64
		on     time.Time
		price  int64
	}
	offers := map[[3]string][]offer{}
	err := from.Query(ctx, cutOffers, map[string]any{"until": days["until"]}, nil, func(row []any) error {
		class := [3]string{text(row[0]), text(row[1]), text(row[2])}
		on, _ := row[4].(time.Time)
		offers[class] = append(offers[class], offer{number(row[3]) * 4, on, number(row[5])})
		return nil
	})
	if err != nil {
		return nil, err
	}
	kerf, trim := int64(0), int64(0)
	err = from.Query(ctx, "SELECT kerf_64ths, end_trim_64ths FROM settings", nil, nil, func(row []any) error {
		kerf, trim = number(row[0]), number(row[1])
		return nil
	})
	if err != nil {
		return nil, err
	}
	var pools []*cutPool
	add := func(row []any) error {
		p := &cutPool{pool: text(row[0]), name: text(row[1]), class: [3]string{text(row[2]), text(row[3]), text(row[4])}}
		p.day, _ = row[5].(time.Time)
		if n := len(pools); n == 0 || pools[n-1].pool != p.pool || pools[n-1].name != p.name || pools[n-1].class != p.class {
			p.problem = cutting.Problem{Kerf: kerf, Trim: trim}
			pools = append(pools, p)
		}
		last := pools[len(pools)-1]
		last.problem.Parts = append(last.problem.Parts, cutting.Part{Length: number(row[6]), Count: int(number(row[7]))})
		return nil
	}
	if err := from.Query(ctx, cutDemands, days, nil, add); err != nil {
		return nil, err
	}
	if err := from.Query(ctx, buyDemands, map[string]any{"until": days["until"]}, nil, add); err != nil {
		return nil, err
	}
	planned := pools[:0]
	for _, p := range pools {
		// The newest price of each length by that day, of lengths that came within half a year
		// before it.
		oldest := p.day.AddDate(0, 0, -182)
		for i, o := range offers[p.class] {
			last := i+1 == len(offers[p.class]) || offers[p.class][i+1].length != o.length || offers[p.class][i+1].on.After(p.day)
			if !o.on.After(p.day) && o.on.After(oldest) && last && o.price > 0 {
				p.problem.Stock = append(p.problem.Stock, cutting.Stock{Length: o.length, Price: o.price, Boards: cutting.Unlimited})
			}
		}
		if len(p.problem.Stock) > 0 {
			planned = append(planned, p)
		}
	}
	return planned, nil
}

// keptSolutions reads what the warehouse keeps of these problems: over the years it keeps many
// times as many.
func keptSolutions(ctx context.Context, from Source, problems map[string]cutProblem) (map[string]CutSolution, error) {
	keys := make([]string, 0, len(problems))
	for key := range problems {
		keys = append(keys, key)
	}
	sort.Strings(keys)
	rows := temporaryRows{}
	for _, key := range keys {
		rows.add("cut_problems", key)
	}
	if err := rows.store(ctx, from, []string{"cut_problems"}); err != nil {
		return nil, err
	}
	known := map[string]CutSolution{}
	err := from.Query(ctx, "SELECT problem_key, bound, cost, boards, too_long FROM cut_solutions SEMI JOIN cut_problems USING (problem_key)", nil, nil, func(row []any) error {
		known[text(row[0])] = CutSolution{text(row[0]), number(row[1]), number(row[2]), text(row[3]), number(row[4])}
		return nil
	})
	return known, err
}

// KeepCutting keeps solutions in a warehouse that is open for writing.
func KeepCutting(ctx context.Context, to Source, solutions []CutSolution) error {
	const made = "CREATE OR REPLACE TEMP TABLE cut_solved (problem_key VARCHAR, bound BIGINT, cost BIGINT, boards VARCHAR, too_long BIGINT)"
	if _, err := to.DB.ExecContext(ctx, made); err != nil {
		return err
	}
	rows := temporaryRows{}
	for _, s := range solutions {
		rows.add("cut_solved", s.Key, s.Bound, s.Cost, s.Boards, s.TooLong)
	}
	if err := to.FillTemporary(ctx, "cut_solved", rows["cut_solved"]); err != nil {
		return err
	}
	_, err := to.DB.ExecContext(ctx, "INSERT INTO cut_solutions SELECT * FROM temp.cut_solved ANTI JOIN cut_solutions USING (problem_key)")
	return err
}

// solveAll works out the problems that are not known on all cores, those with the most lengths
// first: one of them alone can take as long as all the others. They are returned in order of
// their keys.
func solveAll(ctx context.Context, problems map[string]cutProblem, known map[string]CutSolution) ([]CutSolution, error) {
	var keys []string
	for key := range problems {
		if _, ok := known[key]; !ok {
			keys = append(keys, key)
		}
	}
	sort.Strings(keys)
	solved := make([]CutSolution, len(keys))
	failed := make([]error, len(keys))
	next := make(chan int)
	var workers sync.WaitGroup
	for range runtime.NumCPU() {
		workers.Add(1)
		go func() {
			defer workers.Done()
			for i := range next {
				solved[i], failed[i] = solve(ctx, keys[i], problems[keys[i]])
			}
		}()
	}
	for _, i := range bySize(keys, problems) {
		next <- i
	}
	close(next)
	workers.Wait()
	for i, err := range failed {
		if err != nil {
			return nil, fmt.Errorf("cutting problem %s: %w", keys[i], err)
		}
	}
	return solved, nil
}

// bySize lists the places of keys, that of the problem with the most lengths first.
func bySize(keys []string, problems map[string]cutProblem) []int {
	order := make([]int, len(keys))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool {
		return len(problems[keys[order[a]]].Parts) > len(problems[keys[order[b]]].Parts)
	})
	return order
}

// cutSteps bounds the work on one problem. A day's problems end long before it; those of a large
// plant's week and of what it has to buy are cut off, with a plan that costs some 0.3 % more than
// the bound.
const cutSteps = 600_000_000

func solve(ctx context.Context, key string, p cutProblem) (CutSolution, error) {
	solution, err := p.solve(ctx, p.Problem, cutSteps)
	if err != nil {
		return CutSolution{}, err
	}
	boards := map[int64]int{}
	var lengths []int64
	for _, cut := range solution.Plan.Cuts {
		if boards[cut.Length] == 0 {
			lengths = append(lengths, cut.Length)
		}
		boards[cut.Length] += cut.Times
	}
	sort.Slice(lengths, func(i, k int) bool { return lengths[i] < lengths[k] })
	list := make([]string, len(lengths))
	for i, length := range lengths {
		list[i] = fmt.Sprintf("%d:%d", length, boards[length])
	}
	kept := CutSolution{Key: key, Bound: solution.Bound, Cost: solution.Plan.Cost, Boards: strings.Join(list, ",")}
	for _, part := range solution.TooLong {
		kept.TooLong += int64(part.Count)
	}
	return kept, nil
}

// storePlans fills the temporary tables.
func storePlans(ctx context.Context, from Source, pools []*cutPool, known map[string]CutSolution) error {
	rows := temporaryRows{}
	for _, p := range pools {
		dollars := known[p.problem.Key()]
		size, species, grade := p.class[0], p.class[1], p.class[2]
		boards, err := dollars.boards()
		if err != nil {
			return err
		}
		for _, b := range boards {
			price := p.priceOf(b.Length)
			if p.pool == "buy" {
				rows.add("buy_plan_boards", size, species, grade, b.Length/4, b.Boards, price)
			} else {
				rows.add("cut_plan_boards", p.pool, p.name, size, species, grade, b.Length/4, b.Boards, price)
			}
		}
		switch p.pool {
		case "buy":
			rows.add("buy_plans", size, species, grade, p.partsLength(), dollars.Cost, dollars.Bound, dollars.TooLong)
		case "week":
			rows.add("cut_plans", p.pool, p.name, size, species, grade, p.partsLength(), dollars.Cost, dollars.Bound, null{}, null{}, dollars.TooLong)
		default:
			rows.add("cut_plans", p.pool, p.name, size, species, grade, p.partsLength(), dollars.Cost, dollars.Bound,
				known[p.problem.LeastWood().BoundKey()].Bound, known[p.problem.LeastBoards().BoundKey()].Bound, dollars.TooLong)
		}
	}
	return rows.store(ctx, from, []string{"cut_plans", "cut_plan_boards", "buy_plans", "buy_plan_boards"})
}

// boards reads the plan's boards back; Price is left out.
func (s CutSolution) boards() ([]cutting.Stock, error) {
	var list []cutting.Stock
	for _, entry := range strings.Split(s.Boards, ",") {
		if entry == "" {
			continue
		}
		length, count, _ := strings.Cut(entry, ":")
		b, err := cutting.Stock{}, error(nil)
		if b.Length, err = strconv.ParseInt(length, 10, 64); err == nil {
			b.Boards, err = strconv.Atoi(count)
		}
		if err != nil {
			return nil, fmt.Errorf("kept cutting plan %s is no list of boards (%s)", s.Key, s.Boards)
		}
		list = append(list, b)
	}
	return list, nil
}

// priceOf is the price of a board on offer.
func (p *cutPool) priceOf(length int64) int64 {
	for _, stock := range p.problem.Stock {
		if stock.Length == length {
			return stock.Price
		}
	}
	return 0
}

// partsLength is the length of all parts that fit a board on offer, 64ths of an inch.
func (p *cutPool) partsLength() int64 {
	longest, total := int64(0), int64(0)
	for _, stock := range p.problem.Stock {
		longest = max(longest, stock.Length)
	}
	for _, part := range p.problem.Parts {
		if part.Length+p.problem.Kerf <= longest-p.problem.Trim {
			total += part.Length * int64(part.Count)
		}
	}
	return total
}
