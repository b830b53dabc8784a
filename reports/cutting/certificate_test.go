package cutting

import (
	"context"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"
)

func randomInstance(random *rand.Rand) *instance {
	p := Problem{Kerf: random.Int64N(9), Trim: random.Int64N(9)}
	for range 1 + random.IntN(4) {
		p.Stock = append(p.Stock, Stock{Length: 200 + random.Int64N(800), Price: 1 + random.Int64N(100_000),
			Boards: Unlimited + random.IntN(8)})
	}
	p.Stock = append(p.Stock, Stock{Length: 1000, Price: 120_000, Boards: Unlimited})
	for range 1 + random.IntN(12) {
		p.Parts = append(p.Parts, Part{Length: 40 + random.Int64N(900), Count: 1 + random.IntN(9)})
	}
	inst, _ := newInstance(p)
	return inst
}

// mostWorth is how much worth a board of that capacity holds, a copy at a time.
func mostWorth(inst *instance, worth []int64, capacity int) int64 {
	most := make([]int64, capacity+1)
	for i, weight := range inst.weight {
		for range inst.demand[i] {
			for c := capacity; c >= weight; c-- {
				most[c] = max(most[c], most[c-weight]+worth[i])
			}
		}
	}
	return most[capacity]
}

// A certificate has to prove what it says: no board holds more worth than its price and
// rent, and the bound follows from that with figures of any size.
func TestCertificatesProveTheirBounds(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	rents := 0
	for n := range 400 {
		inst := randomInstance(random)
		work := &work{ctx: context.Background(), limit: DefaultSteps}
		s := &solver{inst: inst, work: work, scale: scaleFor(inst), filler: newFiller(inst, work)}
		s.solve()
		proofs := []certificate{materialCertificate(inst), s.proof}
		// Any values make a certificate once the most worth of a board is known.
		worth := make([]int64, len(inst.weight))
		for i := range worth {
			worth[i] = random.Int64N(1 << (20 + random.IntN(20)))
		}
		var most []int64
		for _, capacity := range inst.capacity {
			most = append(most, mostWorth(inst, worth, capacity))
		}
		if proof, ok := certify(inst, s.scale, worth, most); ok {
			proofs = append(proofs, proof)
		}
		for _, proof := range proofs {
			sum := new(big.Int)
			for i, demand := range inst.demand {
				sum.Add(sum, new(big.Int).Mul(big.NewInt(proof.worth[i]), big.NewInt(int64(demand))))
			}
			for k, capacity := range inst.capacity {
				if held := mostWorth(inst, proof.worth, capacity); held > proof.scale*inst.price[k]+proof.rent[k] {
					t.Fatalf("%d: a board of stock %d holds worth %d, price and rent are %d", n, k, held,
						proof.scale*inst.price[k]+proof.rent[k])
				}
				if proof.rent[k] < 0 || proof.rent[k] > 0 && inst.limit[k] == Unlimited {
					t.Fatalf("%d: rent %d for %d boards", n, proof.rent[k], inst.limit[k])
				}
				if proof.rent[k] > 0 {
					rents++
					sum.Sub(sum, new(big.Int).Mul(big.NewInt(proof.rent[k]), big.NewInt(int64(inst.limit[k]))))
				}
			}
			// (bound - grid) × scale < sum: the next lower cost is below what is proven.
			below := new(big.Int).Mul(big.NewInt(proof.bound()-inst.grid), big.NewInt(proof.scale))
			if proof.bound() > 0 && below.Cmp(sum) >= 0 {
				t.Fatalf("%d: bound %d, proven only %v / %d", n, proof.bound(), sum, proof.scale)
			}
		}
		if s.bound < s.proof.bound() {
			t.Fatalf("%d: bound %d, certificate %d", n, s.bound, s.proof.bound())
		}
	}
	if rents == 0 {
		t.Error("no certificate had rents")
	}
}

func TestFillAndTableFindTheMostWorth(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 12))
	for n := range 300 {
		inst := randomInstance(random)
		f := newFiller(inst, &work{ctx: context.Background(), limit: DefaultSteps})
		worth := make([]int64, len(inst.weight))
		for i := range worth {
			worth[i] = 1 + random.Int64N(1<<30)
			if n%2 == 0 { // hard to choose from: worth little but for its weight
				worth[i] = int64(inst.weight[i])*1000 + random.Int64N(3000)
			}
		}
		f.load(worth, inst.demand)
		for k := range f.best {
			f.best[k] = 0
		}
		if !f.fill(inst.capacity, math.MaxInt64) {
			t.Fatalf("%d: the search is not complete", n)
		}
		f.tabulate(slices.Max(inst.capacity))
		for k, capacity := range inst.capacity {
			want := mostWorth(inst, worth, capacity)
			if f.best[k] != want || f.most[capacity] != want {
				t.Fatalf("%d: search %d, table %d, want %d", n, f.best[k], f.most[capacity], want)
			}
			for _, items := range [][]int32{f.found[k], f.trace(capacity, -1, 0, math.MaxInt64)} {
				sum, weight := int64(0), 0
				count := make([]int, len(worth))
				for _, item := range items {
					sum += worth[item]
					weight += inst.weight[item]
					count[item]++
				}
				for i := range count {
					if count[i] > inst.demand[i] {
						t.Fatalf("%d: %d of part %d, %d wanted", n, count[i], i, inst.demand[i])
					}
				}
				if sum != want || weight > capacity {
					t.Fatalf("%d: a pattern of worth %d and weight %d, want worth %d within %d", n, sum, weight, want, capacity)
				}
			}
		}
	}
}

// leastCost is the least cost of cutting residual: each part in turn goes onto each board
// that is open, or opens each stock.
func leastCost(inst *instance, best int64) int64 {
	residual, left := slices.Clone(inst.demand), slices.Clone(inst.limit)
	var rooms []int
	var place func(cost int64)
	place = func(cost int64) {
		if cost >= best {
			return
		}
		i := slices.IndexFunc(residual, func(count int) bool { return count > 0 })
		if i < 0 {
			best = cost
			return
		}
		residual[i]--
		weight := inst.weight[i]
		for b := range rooms {
			if room := rooms[b]; room >= weight && !slices.Contains(rooms[:b], room) {
				rooms[b] -= weight
				place(cost)
				rooms[b] = room
			}
		}
		for k, capacity := range inst.capacity {
			if capacity >= weight && left[k] != 0 {
				left[k]--
				rooms = append(rooms, capacity-weight)
				place(cost + inst.price[k])
				rooms = rooms[:len(rooms)-1]
				left[k]++
			}
		}
		residual[i]++
	}
	place(0)
	return best
}

// The search with a certificate that helps little, so that it has to try.
func TestSearchIsComplete(t *testing.T) {
	random := rand.New(rand.NewPCG(13, 14))
	branched, none := 0, 0
	for n := range 1500 {
		p := Problem{Stock: []Stock{
			{Length: 30 + random.Int64N(20), Price: 20 + random.Int64N(20), Boards: Unlimited + random.IntN(5)},
			{Length: 30 + random.Int64N(20), Price: 20 + random.Int64N(20), Boards: Unlimited + random.IntN(5)},
			{Length: 50, Price: 45, Boards: Unlimited + random.IntN(9)},
		}}
		for range 2 + random.IntN(5) {
			p.Parts = append(p.Parts, Part{Length: 5 + random.Int64N(26), Count: 1 + random.IntN(2)})
		}
		inst, _ := newInstance(p)
		if inst.parts == 0 {
			continue
		}
		const more = 10_000
		want := leastCost(inst, more)
		proof := certificate{inst: inst, scale: 1, worth: make([]int64, len(inst.weight)), rent: make([]int64, len(inst.price))}
		if n%2 == 0 {
			proof = materialCertificate(inst)
		}
		search := newSearch(inst, &work{ctx: context.Background(), limit: DefaultSteps}, &proof, inst.demand, inst.limit, more, 10_000_000)
		if !search.run() {
			t.Fatalf("%d: not complete", n)
		}
		if search.best != want || (search.found == nil) != (want == more) {
			t.Fatalf("%d: search %d, want %d\n%+v", n, search.best, want, p)
		}
		if want == more {
			none++
		} else if want > inst.onGrid(proof.lower(inst.demand, inst.limit), proof.scale) {
			branched++
		}
	}
	if branched < 100 || none < 20 {
		t.Errorf("%d problems above the certificate's bound, %d impossible", branched, none)
	}
}
