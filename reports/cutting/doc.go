// Package cutting says what the lumber parts of one item must cost at least, and gives a
// plan that costs little more: which boards to take and which parts to cut from each. It
// is the one-dimensional cutting stock problem with several board lengths, prices and
// limits of boards at hand.
//
// The bound is proven. Column generation in floating point finds what a part of each
// length is worth; those values are then rounded to whole numbers, an exact search over
// whole numbers says how much worth each board can hold at most, and the bound is worked
// out from that alone. A rounding error can make the bound lower, never too high.
//
// The same problem gives the same solution on every machine: work is limited by counted
// steps, never by the clock, no map is ranged over, and floating point is kept from being
// fused.
//
// Pooling is the caller's. A problem of one batch says what that batch needs when it is
// cut by itself; a problem of a day or of a week assumes that all its parts could lie on
// the saw's list at once, whatever the order in which they were due. The larger the pool,
// the lower the bound, and the further it is from what a saw can do.
//
// A plan is a bound for purchasing, not an instruction to a saw: it knows neither the
// sequence of trusses, nor carts, nor which board is on top of the bunk, nor crooks and
// knots. It never moves a part to another size, species or grade: a problem holds one
// item, and the caller solves each item by itself.
//
// Every part costs one kerf, the last part of a board too, even where the board ends
// exactly with it and no cut would be made. The ledgers split waste by the same rule.
//
// Pipeline: beside the ledgers; a caller that has read parts and boards hands them over,
// and keeps the solution under the problem's key.
//
// It must not know: any file, any database, the clock, what an item is called, which
// batch or truss a part belongs to.
package cutting
