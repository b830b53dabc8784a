package ingest

// Feeds returns every feed in the order in which `run` reads files: what others refer
// to comes first.
func Feeds() []Feed {
	return []Feed{
		jobs(), trusses(), cutPieces(), completions(), lumberUsage(),
		stoppages(), timecards(), wages(), otherPay(), payroll(), receipts(), counts(), lumberPrices(), purchaseOrders(), invoices(), deliveries(), jobCosts(), overheads(), openingWIP(),
		inspections(), incidents(),
	}
}

func usd(name, meaning, example string) Column {
	return Column{Name: name, Kind: Decimal, Precision: 14, Scale: 2, Meaning: meaning, Example: example}
}

func minutes(name, meaning, example string) Column {
	return Column{Name: name, Kind: Decimal, Precision: 12, Scale: 2, Minimum: "0", Meaning: meaning, Example: example}
}

func required(c Column) Column {
	c.Required = true
	return c
}

func lumberItem() []Column {
	return []Column{
		{Name: "size", Kind: Size, Required: true, Meaning: "nominal section, such as 2x4", Example: "2x4"},
		{Name: "species", Kind: Code, Required: true, Meaning: "species or species group, as stamped", Example: "SPF"},
		{Name: "grade", Kind: Code, Required: true, Meaning: "grade, as stamped", Example: "No. 2"},
		{Name: "length", Kind: Length, Required: true, Minimum: "1", Meaning: "length as feet-inches-sixteenths (12-06-08), decimal feet (12.5) or 12'6 1/2\"", Example: "16-00-00"},
	}
}

func jobs() Feed {
	return Feed{
		Name: "jobs", Row: "one job: what was sold to one customer at one price",
		Key: []string{"job"}, Unique: true,
		Columns: []Column{
			{Name: "job", Kind: Code, Required: true, Meaning: "job number", Example: "J1001"},
			{Name: "customer", Kind: Code, Meaning: "customer code", Example: "C01"},
			{Name: "description", Kind: Text, Meaning: "free text", Example: "roof trusses, plan 4"},
			{Name: "line", Kind: Choice, Choices: []string{"roof", "floor", "wall"}, Meaning: "product line", Example: "roof"},
			{Name: "ordered_on", Kind: Date, Meaning: "day the order was taken", Example: "2026-08-03"},
			{Name: "due_on", Kind: Date, Meaning: "day the customer wants it", Example: "2026-08-28"},
			{Name: "promised_on", Kind: Date, Meaning: "day the plant promised", Example: "2026-08-27"},
			{Name: "shipped_on", Kind: Date, Meaning: "day the last load left; blank while open", Example: "2026-08-27"},
			{Name: "closed_on", Kind: Date, Meaning: "day the job was closed: its invoices are then its revenue", Example: ""},
			required(usd("price_usd", "price sold at, sales tax left out", "8450.00")),
			usd("quoted_lumber_usd", "lumber in the quote", "3100.00"),
			usd("quoted_plate_usd", "connector plates in the quote", "640.00"),
			usd("quoted_labour_usd", "labour in the quote, burden included", "1350.00"),
			minutes("quoted_labour_min", "people-minutes in the quote", "2700"),
			usd("quoted_other_usd", "hardware and other material in the quote", "120.00"),
			usd("quoted_delivery_usd", "delivery in the quote", "250.00"),
			usd("quoted_overhead_usd", "overhead in the quote; blank when the quote leaves overhead out", "900.00"),
		},
	}
}

func trusses() Feed {
	return Feed{
		Name: "trusses", Row: "one truss mark of a job",
		Key: []string{"job", "truss"}, Unique: true,
		Columns: []Column{
			{Name: "job", Kind: Code, Required: true, Meaning: "job number", Example: "J1001"},
			{Name: "truss", Kind: Code, Required: true, Meaning: "truss mark", Example: "T1"},
			{Name: "kind", Kind: Code, Meaning: "truss family, such as common, girder, hip, scissor, attic, floor", Example: "common"},
			{Name: "quantity", Kind: Integer, Required: true, Minimum: "0", Meaning: "trusses ordered, whole trusses and never plies", Example: "12"},
			{Name: "plies", Kind: Integer, Default: "1", Minimum: "1", Meaning: "plies of one truss", Example: "1"},
			{Name: "span", Kind: Length, Meaning: "out-to-out span", Example: "28-00-00"},
			{Name: "design_bf", Kind: Decimal, Precision: 14, Scale: 4, Minimum: "0", Meaning: "board feet in the finished parts of one truss, all plies", Example: "62.5"},
			{Name: "plate_usd", Kind: Decimal, Precision: 14, Scale: 4, Minimum: "0", Meaning: "standard cost of the connector plates of one truss, all plies", Example: "14.35"},
			minutes("quoted_setup_min", "people-minutes for one set-up of the mark", "60"),
			minutes("quoted_build_min", "people-minutes a truss, all plies and their joining", "18"),
		},
	}
}

func cutPieces() Feed {
	item := lumberItem()
	item[3].Meaning = "real cut length of the part, longest point to longest point"
	item[3].Example = "14-03-08"
	columns := []Column{
		{Name: "job", Kind: Code, Required: true, Meaning: "job number", Example: "J1001"},
		{Name: "truss", Kind: Code, Required: true, Meaning: "truss mark", Example: "T1"},
		{Name: "piece", Kind: Code, Required: true, Meaning: "piece mark within the truss", Example: "TC1"},
		{Name: "member", Kind: Code, Meaning: "top chord, bottom chord, web and so on", Example: "top chord"},
	}
	columns = append(columns, item...)
	columns = append(columns, Column{Name: "pieces_per_ply", Kind: Integer, Required: true, Minimum: "1", Meaning: "pieces of this mark in one ply", Example: "2"})
	return Feed{
		Name: "cut_pieces", Row: "one piece mark of a truss: what the design calls for",
		Key: []string{"job", "truss", "piece"}, Unique: true, Columns: columns,
	}
}

func completions() Feed {
	return Feed{
		Name: "completions", Row: "trusses finished at one station, with when the run was set up, begun and finished",
		Key: []string{"record"}, Record: true,
		Group: []GroupPart{{Column: "station"}, {Column: "shift_date", ElseDateOf: "finished_at"}},
		Rules: []RowRule{
			{Code: CodeNeedsOneOf, Column: "finished_at", Wrong: "finished_at IS NULL AND shift_date IS NULL", What: "neither finished_at nor shift_date is given", Hint: "give the time the run finished, or at least the shift date"},
			{Code: CodeBadOrder, Column: "build_started_at", Wrong: "build_started_at < setup_started_at", What: "the build starts before the set-up", Hint: "set-up comes first: check both times"},
			{Code: CodeBadOrder, Column: "finished_at", Wrong: "finished_at < coalesce(build_started_at, setup_started_at)", What: "the run finishes before it starts", Hint: "after midnight the date is the next day's"},
		},
		Columns: []Column{
			{Name: "record", Kind: Code, Meaning: "the log's own number of the row; a row with one is corrected by it", Example: ""},
			{Name: "station", Kind: Code, Required: true, Station: true, Meaning: "saw, table or finishing station of plant.toml", Example: "T1"},
			{Name: "batch", Kind: Code, Meaning: "batch number", Example: "B0420"},
			{Name: "job", Kind: Code, Required: true, Meaning: "job number", Example: "J1001"},
			{Name: "truss", Kind: Code, Meaning: "truss mark", Example: "T1"},
			{Name: "crew", Kind: Code, Required: true, Meaning: "crew code", Example: "RED"},
			{Name: "shift", Kind: Code, Required: true, Meaning: "shift code", Example: "day"},
			{Name: "shift_date", Kind: Date, Meaning: "date on which the shift began", Example: "2026-08-24"},
			{Name: "setup_started_at", Kind: Time, Meaning: "set-up began; blank when not recorded", Example: "2026-08-24 06:10"},
			{Name: "build_started_at", Kind: Time, Meaning: "first truss begun", Example: "2026-08-24 06:40"},
			{Name: "finished_at", Kind: Time, Meaning: "last truss of this row finished", Example: "2026-08-24 08:05"},
			{Name: "quantity", Kind: Integer, Required: true, Minimum: "0", Meaning: "whole trusses finished, never plies", Example: "4"},
			{Name: "remake", Kind: Choice, Choices: []string{"normal", "abnormal", "customer"}, Meaning: "blank for first-time work; else why the truss was made again", Example: ""},
		},
	}
}

func lumberUsage() Feed {
	columns := []Column{
		{Name: "record", Kind: Code, Meaning: "the log's own number of the row", Example: ""},
		{Name: "corrects", Kind: Code, Meaning: "record that this row corrects", Example: ""},
		{Name: "used_at", Kind: Time, Required: true, DateAlone: true, Meaning: "when the boards left or came back; a date alone is taken as that day's start", Example: "2026-08-24 05:50"},
		{Name: "station", Kind: Code, Station: true, Meaning: "station that took the boards", Example: "S1"},
		{Name: "job", Kind: Code, Meaning: "job number", Example: "J1001"},
		{Name: "batch", Kind: Code, Meaning: "batch number", Example: "B0420"},
	}
	item := lumberItem()
	item[3].Meaning = "stock length of the boards"
	columns = append(columns, item...)
	columns = append(columns,
		Column{Name: "from_length", Kind: Length, Minimum: "1", Meaning: "stock length that a returned remnant was cut from", Example: ""},
		Column{Name: "boards", Kind: Integer, Required: true, Meaning: "boards taken; negative for boards put back into stock", Example: "24"},
		Column{Name: "reason", Kind: Choice, Required: true, Choices: []string{"cut", "recut", "cull", "return", "ship", "shop"}, Meaning: "why the boards moved", Example: "cut"},
		Column{Name: "for_grade", Kind: Code, Meaning: "grade that the design called for, when another was used", Example: ""},
	)
	return Feed{
		Name: "lumber_usage", Row: "boards of one item taken from stock, or put back",
		Key: []string{"record"}, Record: true,
		Group: []GroupPart{{Column: "station"}, {Column: "", ElseDateOf: "used_at"}},
		Rules: []RowRule{
			{Code: CodeNeedsOneOf, Column: "job", Wrong: "job IS NULL AND batch IS NULL AND station IS NULL", What: "none of job, batch and station is given", Hint: "say what the boards were for, or which saw took them"},
			{Code: CodeOutOfRange, Column: "boards", Wrong: "boards = 0", What: "0 boards moved", Hint: "delete the row, or give the boards taken (negative when put back)"},
			{Code: CodeBadSign, Column: "boards", Wrong: "reason = 'return' AND boards > 0", What: "a return with boards above 0", Hint: "boards put back into stock are negative"},
			{Code: CodeBadLength, Column: "from_length", Wrong: "from_length_16ths < length_16ths", What: "a remnant longer than the board it came from", Hint: "from_length is the stock length before the cut"},
		},
		Columns: columns,
	}
}

func stoppages() Feed {
	return Feed{
		Name: "stoppages", Row: "one stretch of time during which a station could not work",
		Key:   []string{"station", "started_at"},
		Group: []GroupPart{{Column: "station"}, {Column: "", ElseDateOf: "started_at"}},
		Rules: []RowRule{
			{Code: CodeBadOrder, Column: "ended_at", Wrong: "ended_at <= started_at", What: "the stoppage ends before it starts", Hint: "after midnight the date is the next day's"},
		},
		Columns: []Column{
			{Name: "station", Kind: Code, Required: true, Station: true, Meaning: "station that stood still", Example: "T1"},
			{Name: "started_at", Kind: Time, Required: true, Meaning: "work stopped", Example: "2026-08-24 09:40"},
			{Name: "ended_at", Kind: Time, Required: true, Meaning: "work went on", Example: "2026-08-24 10:05"},
			{Name: "reason", Kind: Code, Required: true, Meaning: "why, in the plant's own words, such as saw down or no lumber", Example: "no lumber"},
		},
	}
}

func timecards() Feed {
	return Feed{
		Name: "timecards", Row: "one punch pair of one employee, or hours paid and not worked",
		TouchedSeconds: "CASE WHEN ended_utc > started_utc THEN (epoch_us(ended_utc) - epoch_us(started_utc)) // 1000000 - (unpaid_min * 60)::BIGINT ELSE (hours * 3600)::BIGINT END",
		Key:            []string{"record"}, Record: true,
		Group: []GroupPart{{Column: "employee"}, {Column: "work_date", ElseDateOf: "started_at"}},
		Rules: []RowRule{
			{Code: CodeNeedsOneOf, Column: "started_at", Wrong: "started_at IS NULL AND work_date IS NULL", What: "neither started_at nor work_date is given", Hint: "give the time of the punch, or the work date and the hours"},
		},
		Columns: []Column{
			{Name: "record", Kind: Code, Meaning: "the clock's own number of the row", Example: ""},
			{Name: "employee", Kind: Code, Required: true, Meaning: "employee code", Example: "E07"},
			{Name: "crew", Kind: Code, Meaning: "crew worked with", Example: "RED"},
			{Name: "shift", Kind: Code, Meaning: "shift code", Example: "day"},
			{Name: "station", Kind: Code, Station: true, Meaning: "station worked at; blank: follows the crew", Example: "T1"},
			{Name: "work_date", Kind: Date, Meaning: "date on which the shift began", Example: "2026-08-24"},
			{Name: "started_at", Kind: Time, Meaning: "punch in", Example: "2026-08-24 06:00"},
			{Name: "ended_at", Kind: Time, Meaning: "punch out", Example: "2026-08-24 14:30"},
			{Name: "unpaid_min", Kind: Decimal, Precision: 8, Scale: 2, Default: "0", Minimum: "0", Meaning: "unpaid minutes inside the punch, such as an automatic lunch", Example: "30"},
			{Name: "pay_code", Kind: Code, Default: "worked", Meaning: "worked, or why time is paid and not worked (holiday, leave, …)", Example: "worked"},
			{Name: "job", Kind: Code, Meaning: "job, where the clock asks for one", Example: ""},
			{Name: "hours", Kind: Decimal, Precision: 8, Scale: 4, Minimum: "0", Meaning: "hours paid and not worked, or worked without punches", Example: ""},
			{Name: "rate_usd", Kind: Decimal, Precision: 10, Scale: 4, Minimum: "0", Wage: true, Meaning: "hourly rate of this time, when it has its own", Example: ""},
		},
	}
}

func wages() Feed {
	return Feed{
		Name: "wages", Row: "an employee's rate from one day on",
		Key: []string{"employee", "effective_on"}, Unique: true,
		Rules: []RowRule{
			{Code: CodeNeedsOneOf, Column: "salary_hours", Wrong: "basis = 'salary' AND coalesce(salary_hours, 0) = 0", What: "a salary without salary_hours", Hint: "say for how many hours a week the salary is paid"},
			{Code: CodeNeedsOneOf, Column: "overtime", Wrong: "basis = 'salary' AND overtime IS NULL", What: "a salary without overtime", Hint: "say yes or no: whether hours past the threshold earn more is payroll's call"},
			{Code: CodeBadOrder, Column: "paid_from", Wrong: "paid_from < effective_on", What: "a rate that was paid before it was in force", Hint: "paid_from is left blank, or is the later day on which payroll began to pay a back-dated rate"},
		},
		Columns: []Column{
			{Name: "employee", Kind: Code, Required: true, Meaning: "employee code", Example: "E07"},
			{Name: "effective_on", Kind: Date, Required: true, Meaning: "first day of this rate", Example: "2026-01-05"},
			{Name: "role", Kind: Choice, Required: true, Choices: []string{"direct", "indirect", "lead"}, Meaning: "direct builds trusses, indirect serves, lead does both", Example: "direct"},
			{Name: "basis", Kind: Choice, Default: "hourly", Choices: []string{"hourly", "salary", "agency"}, Meaning: "how the rate is meant", Example: "hourly"},
			{Name: "rate_usd", Kind: Decimal, Precision: 10, Scale: 4, Required: true, Minimum: "0", Wage: true, Meaning: "dollars an hour (hourly, agency) or a week (salary)", Example: "21.50"},
			{Name: "salary_hours", Kind: Decimal, Precision: 8, Scale: 4, Minimum: "0", Wage: true, Meaning: "hours a week that the salary is for", Example: ""},
			{Name: "overtime", Kind: Choice, Choices: []string{"yes", "no"}, Meaning: "whether hours past the threshold earn a premium", Example: ""},
			{Name: "overtime_bill_rate_usd", Kind: Decimal, Precision: 10, Scale: 4, Minimum: "0", Wage: true, Meaning: "an agency's rate past the threshold", Example: ""},
			{Name: "paid_from", Kind: Date, Meaning: "day on which payroll began to pay a back-dated rate; blank: on effective_on", Example: ""},
		},
	}
}

func otherPay() Feed {
	return Feed{
		Name: "other_pay", Row: "pay of one employee beside hours: bonus, differential, piecework and the like",
		Key: []string{"employee", "workweek_start", "kind", "record"},
		Rules: []RowRule{
			{Code: CodeNeedsOneOf, Column: "earned_until", Wrong: "(earned_from IS NULL) <> (earned_until IS NULL)", What: "one of earned_from and earned_until is given", Hint: "give both: the first day the pay was earned on and the day after the last; or leave both blank"},
			{Code: CodeBadOrder, Column: "earned_until", Wrong: "earned_until <= earned_from", What: "earned_until is not after earned_from", Hint: "earned_until is the day after the last"},
		},
		Columns: []Column{
			{Name: "employee", Kind: Code, Required: true, Meaning: "employee code", Example: "E07"},
			{Name: "workweek_start", Kind: Date, Required: true, Meaning: "first day of the workweek whose payroll pays it", Example: "2026-08-24"},
			{Name: "kind", Kind: Choice, Required: true, Choices: []string{"bonus", "differential", "piecework", "discretionary", "reimbursement"}, Meaning: "bonus, differential and piecework count in the regular rate; discretionary pay and reimbursements do not", Example: "bonus"},
			{Name: "amount_usd", Kind: Decimal, Precision: 14, Scale: 2, Required: true, Wage: true, Meaning: "dollars before deductions", Example: "50.00"},
			{Name: "earned_from", Kind: Date, Meaning: "first day on which it was earned; blank: in its own workweek", Example: ""},
			{Name: "earned_until", Kind: Date, Meaning: "day after the last on which it was earned", Example: ""},
			{Name: "record", Kind: Code, Meaning: "payroll's own number of the row", Example: ""},
		},
	}
}

func payroll() Feed {
	return Feed{
		Name: "payroll", Row: "the total of one payroll register, or of an agency's invoice for labour",
		Key: []string{"source", "from", "department"}, Unique: true,
		Rules: []RowRule{
			{Code: CodeBadOrder, Column: "until", Wrong: "\"until\" <= \"from\"", What: "until is not after from", Hint: "until is the day after the last day of the pay period"},
		},
		Columns: []Column{
			{Name: "source", Kind: Code, Required: true, Meaning: "payroll, or an agency's code", Example: "payroll"},
			{Name: "from", Kind: Date, Required: true, Meaning: "first day of the pay period: a first day of a workweek", Example: "2026-08-24"},
			{Name: "until", Kind: Date, Required: true, Meaning: "day after the last day of the pay period", Example: "2026-08-31"},
			{Name: "gross_usd", Kind: Decimal, Precision: 14, Scale: 2, Required: true, Wage: true, Meaning: "the register's gross pay, reimbursements left out", Example: "18450.00"},
			{Name: "department", Kind: Code, Meaning: "department, where the register has one; blank: the whole plant", Example: ""},
		},
	}
}

func receipts() Feed {
	columns := []Column{
		{Name: "received_on", Kind: Date, Required: true, Meaning: "day the lumber arrived", Example: "2026-08-17"},
		{Name: "vendor", Kind: Code, Required: true, Meaning: "vendor code", Example: "V1"},
		{Name: "document", Kind: Code, Required: true, Meaning: "packing slip or delivery note", Example: "P5001"},
		{Name: "line", Kind: Code, Required: true, Meaning: "line of the document", Example: "1"},
	}
	columns = append(columns, lumberItem()...)
	columns = append(columns,
		Column{Name: "boards", Kind: Integer, Required: true, Minimum: "1", Meaning: "boards received", Example: "294"},
		Column{Name: "usd_per_mbf", Kind: Decimal, Precision: 12, Scale: 4, Minimum: "0", Meaning: "price for a thousand board feet; blank while only the packing slip is here", Example: "545.00"},
		Column{Name: "freight_usd", Kind: Decimal, Precision: 14, Scale: 2, Minimum: "0", Meaning: "freight of this line, spread over its boards", Example: "85.00"},
		Column{Name: "invoice", Kind: Code, Meaning: "vendor's invoice", Example: "VI7001"},
		Column{Name: "invoiced_on", Kind: Date, Meaning: "date of the vendor's invoice", Example: "2026-08-19"},
		Column{Name: "credit_usd", Kind: Decimal, Precision: 14, Scale: 2, Minimum: "0", Meaning: "vendor's credit for bad lumber of this line", Example: ""},
		Column{Name: "credited_on", Kind: Date, Meaning: "day of the vendor's credit; blank: with the receipt", Example: ""},
	)
	return Feed{
		Name: "receipts", Row: "one line of lumber received",
		Key: []string{"vendor", "document", "line"}, Columns: columns,
		Rules: []RowRule{
			{Code: CodeBadOrder, Column: "credited_on", Wrong: "credited_on < received_on", What: "a credit before the lumber came", Hint: "credited_on is the day of the vendor's credit"},
		},
	}
}

func counts() Feed {
	columns := append([]Column{
		{Name: "counted_on", Kind: Date, Required: true, Meaning: "day of the count: opening stock on the plant's first one, else after that day's moves", Example: "2026-08-17"},
	}, lumberItem()...)
	return Feed{
		Name: "counts", Row: "boards of one item counted in the yard",
		Key: []string{"counted_on", "size", "species", "grade", "length"}, Unique: true,
		Columns: append(columns,
			Column{Name: "boards", Kind: Integer, Required: true, Minimum: "0", Meaning: "boards counted", Example: "420"},
			Column{Name: "usd_per_mbf", Kind: Decimal, Precision: 12, Scale: 4, Minimum: "0", Meaning: "landed cost of the boards found, for a thousand board feet; blank: last landed price, else the quoting price", Example: "530.00"},
			Column{Name: "scope", Kind: Choice, Default: "listed", Choices: []string{"listed", "full"}, Meaning: "listed: the items of the file were counted; full: all were, and what is not listed is not there", Example: "listed"},
		),
	}
}

func lumberPrices() Feed {
	item := lumberItem()
	item[3].Required, item[3].Meaning = false, "stock length that the price is for; blank: any"
	return Feed{
		Name: "lumber_prices", Row: "the price that quotes use for one item from one day on",
		Key: []string{"effective_on", "size", "species", "grade", "length"}, Unique: true,
		Columns: append(append([]Column{
			{Name: "effective_on", Kind: Date, Required: true, Meaning: "first day of this price", Example: "2026-08-03"},
		}, item...),
			Column{Name: "usd_per_mbf", Kind: Decimal, Precision: 12, Scale: 4, Required: true, Minimum: "0", Meaning: "dollars for a thousand board feet, delivered", Example: "560.00"},
		),
	}
}

func purchaseOrders() Feed {
	return Feed{
		Name: "purchase_orders", Row: "one line of lumber on order",
		Key: []string{"vendor", "order", "line"}, Unique: true,
		Columns: append(append([]Column{
			{Name: "vendor", Kind: Code, Required: true, Meaning: "vendor code", Example: "V1"},
			{Name: "order", Kind: Code, Required: true, Meaning: "purchase order", Example: "PO8001"},
			{Name: "line", Kind: Code, Required: true, Meaning: "line of the order", Example: "1"},
			{Name: "due_on", Kind: Date, Required: true, Meaning: "day the lumber is due", Example: "2026-08-31"},
		}, lumberItem()...),
			Column{Name: "boards", Kind: Integer, Required: true, Minimum: "0", Meaning: "boards still to come; 0 when all are here", Example: "294"},
			Column{Name: "usd_per_mbf", Kind: Decimal, Precision: 12, Scale: 4, Minimum: "0", Meaning: "agreed price for a thousand board feet", Example: "545.00"},
		),
	}
}

func invoices() Feed {
	return Feed{
		Name: "invoices", Row: "one invoice line or credit to a customer, sales tax left out", TouchedUSD: "amount_usd",
		Key: []string{"invoice", "line", "kind", "job"},
		Rules: []RowRule{
			{Code: CodeBadSign, Column: "amount_usd", Wrong: "kind = 'credit' AND amount_usd > 0", What: "a credit above 0", Hint: "credits are negative"},
		},
		Columns: []Column{
			{Name: "invoice", Kind: Code, Required: true, Meaning: "invoice number", Example: "I3001"},
			{Name: "line", Kind: Code, Default: "1", Meaning: "line of the invoice", Example: "1"},
			{Name: "job", Kind: Code, Required: true, Meaning: "job number", Example: "J1001"},
			{Name: "invoiced_on", Kind: Date, Required: true, Meaning: "invoice date", Example: "2026-08-28"},
			required(usd("amount_usd", "amount without sales tax; credits negative", "8450.00")),
			{Name: "kind", Kind: Choice, Default: "sale", Choices: []string{"sale", "progress", "deposit", "credit", "scrap"}, Meaning: "what the line is", Example: "sale"},
		},
	}
}

func jobCosts() Feed {
	return Feed{
		Name: "job_costs", Row: "one cost charged to a job from outside: plates, hardware, delivery, repair", TouchedUSD: "amount_usd",
		Key: []string{"vendor", "document", "line"},
		Columns: []Column{
			{Name: "vendor", Kind: Code, Meaning: "vendor code", Example: "V4"},
			{Name: "document", Kind: Code, Required: true, Meaning: "vendor's document", Example: "D9001"},
			{Name: "line", Kind: Code, Default: "1", Meaning: "line of the document", Example: "1"},
			{Name: "job", Kind: Code, Required: true, Meaning: "job number", Example: "J1001"},
			{Name: "incurred_on", Kind: Date, Required: true, Meaning: "day the cost belongs to", Example: "2026-08-27"},
			{Name: "kind", Kind: Choice, Required: true, Choices: []string{"plate", "hardware", "other_material", "delivery", "repair", "backcharge", "other"}, Meaning: "class of the cost", Example: "delivery"},
			required(usd("amount_usd", "amount without sales tax; credits negative", "250.00")),
		},
	}
}

func deliveries() Feed {
	return Feed{
		Name: "deliveries", Row: "trusses of one mark on one load to the customer",
		Key: []string{"load", "job", "truss"}, Unique: true,
		Columns: []Column{
			{Name: "delivered_on", Kind: Date, Required: true, Meaning: "day the load reached the customer", Example: "2026-08-27"},
			{Name: "load", Kind: Code, Required: true, Meaning: "load number", Example: "L2001"},
			{Name: "job", Kind: Code, Required: true, Meaning: "job number", Example: "J1001"},
			{Name: "truss", Kind: Code, Meaning: "truss mark; blank: all of the job that is left", Example: "T1"},
			{Name: "quantity", Kind: Integer, Minimum: "0", Meaning: "trusses of the mark; blank: all of it that is left", Example: "12"},
		},
	}
}

func overheads() Feed {
	return Feed{
		Name: "overheads", Row: "one overhead pool of one month: what it was to cost and did",
		Key: []string{"month", "pool"}, Unique: true,
		Rules: []RowRule{
			{Code: CodeOutOfRange, Column: "month", Wrong: "extract('day' FROM month) <> 1", What: "the month is not given by its first day", Hint: "write October 2026 as 2026-10-01"},
		},
		Columns: []Column{
			{Name: "month", Kind: Date, Required: true, Meaning: "first day of the month", Example: "2026-10-01"},
			{Name: "pool", Kind: Code, Required: true, Meaning: "rent, power, supervision and so on; burden for payroll taxes and insurance; wages that timecards hold are left out", Example: "rent"},
			usd("budget_usd", "what the month was to cost", "9000.00"),
			required(usd("actual_usd", "what it cost", "9200.00")),
		},
	}
}

func openingWIP() Feed {
	return Feed{
		Name: "opening_wip", Row: "cost that one job carried when the plant went live",
		Key: []string{"on", "job", "class"}, Unique: true,
		Columns: []Column{
			{Name: "on", Kind: Date, Required: true, Meaning: "day from which the ledgers hold everything", Example: "2026-08-17"},
			{Name: "job", Kind: Code, Required: true, Meaning: "job number", Example: "J1001"},
			{Name: "class", Kind: Choice, Required: true, Choices: []string{"lumber", "plates", "other_material", "direct_labour", "burden", "overtime_premium", "overhead_applied", "delivery", "repair", "other"}, Meaning: "cost class", Example: "lumber"},
			required(usd("amount_usd", "cost to date", "1250.00")),
			{Name: "trusses_built", Kind: Integer, Minimum: "0", Meaning: "good trusses built by then; said once a job", Example: "6"},
		},
	}
}
