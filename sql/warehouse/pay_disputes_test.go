package warehouse_test

// What the ledgers make otherwise of the written rules than the model does. Random pay
// plants leave each out until it is settled: set it to true when the ledgers follow the
// rules, or change the model with the rules.
const (
	// hours without times and with unpaid minutes: the rules pay the hours, the ledgers take
	// the minutes off them.
	plantUnpaidOffHours = true
	// Under punch rounding, a punch that lies wholly within an earlier one: nothing of it is
	// left, and the ledgers pay the rounding of its end, which no minute holds.
	plantCoveredRounded = true
	// Piecework of a salaried employee: it counts in the regular rate, and not in the ledgers'.
	plantSalaryPiecework = true
	// A salaried workweek with timecards of 0 seconds alone, such as one missing punch: the
	// rules pay the salary, and the ledgers have no such week.
	plantSalaryWithoutHours = true
	// A back-dated salary over days of a workweek whose cards are all of other days: the rules
	// owe the difference of those sevenths too, the ledgers nothing.
	plantSalaryRetroDays = true
	// A double punch in the repeated hour: the ledgers take it for another punch when they
	// choose between readings, so that it settles the punch that it repeats, or unsettles it.
	plantDoubleReadings = true
	// A punch completed by its hours on the night of the repeated hour: the model takes both
	// its times for certain, so that others' readings over it are dropped; the ledgers don't.
	plantCompletedReadings = true
	// Piecework of an agency's employee: the ledgers take it off the overtime bill.
	plantAgencyPiecework = true
	// Pay earned in several workweeks with rate_rounding "cent": the ledgers round the share
	// of an hour to the cent, the rules only the week's premium.
	plantSpreadToCent = true
)
