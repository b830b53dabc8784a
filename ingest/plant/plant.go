package plant

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // a plant's zone must resolve on a machine without a zone database

	"github.com/pelletier/go-toml/v2"

	"trusstally/ingest/problem"
)

// FileName is the name of a plant's settings file within its folder.
const FileName = "plant.toml"

// Settings is plant.toml with defaults filled in.
type Settings struct {
	Name         string
	Zone         *time.Location
	WeekStartDay time.Weekday  // day on which the 168-hour workweek starts
	WeekStartAt  time.Duration // local time of that day, from midnight
	Currency     string

	Pay      Pay
	Overhead string // dollars for each labour hour, as a decimal
	Plates   string // "standard" or "invoiced"
	Lumber   Lumber
	Revenue  string // "shipped" or "over_time"
	Stations []Station
	Grades   []Grades
	Changes  []Change
	Compare  Compare
	Accounts map[string]string
	Feeds    map[string]FeedRules
	Reports  Reports
	Run      Run

	Hash string // SHA-256 of the file, in hexadecimal
}

// Pay is how worked time becomes dollars. Amounts and factors are decimals as text.
type Pay struct {
	WeeklyThresholdHours      string
	DailyThresholdHours       string // 0: no daily overtime
	DoubleDailyThresholdHours string // 0: no double time
	SeventhDay                string // "none" or "premium": the seventh consecutive day worked of a workweek
	Multiplier                string
	DoubleMultiplier          string // past the double daily threshold
	MealAfterHours            string // 0: unpaid minutes always come off
	PunchRoundingMin          int    // 0, 5, 6 or 15: punches are paid to the nearest so many minutes
	LongestPunchHours         string // a longer punch is odd: 0 hours and an exception
	DoublePunchMin            string // punches of one person this near to each other are one punch
	RateRounding              string // "none" or "cent"
	OvertimePremium           string // "overhead" or "job"
	BurdenPct                 string // a fraction of straight pay of direct run time
	BurdenUSDPerHour          string
}

// Lumber is how boards are costed and what the saw takes.
type Lumber struct {
	Costing             string // "fifo" or "average"
	Usage               string // "logged" or "backflush"
	KerfSixtyFourths    int    // width of one saw cut, 64ths of an inch
	EndTrimSixtyFourths int    // trimmed off each board, 64ths of an inch
	RemnantMin          string // shortest remnant that goes back to stock, feet-inches-sixteenths
	QuotedWastePct      string // a fraction
	Packs               []Pack // in order of size
}

// Pack is how many boards of a size come in one unit.
type Pack struct {
	Size   string
	Boards int
}

// Station is one place of the plant where time is logged.
type Station struct {
	Code    string `toml:"code"`
	Kind    string `toml:"kind"`    // saw, table, finish, yard
	Jigging string `toml:"jigging"` // manual, automatic; tables only
}

// Grades is a species' grades from highest to lowest, as the plant sees them.
type Grades struct {
	Species string   `toml:"species"`
	Order   []string `toml:"order"`
}

// Change is a change to the floor that is under study.
type Change struct {
	Code     string         `toml:"code"`
	On       toml.LocalDate `toml:"on"`
	Stations []string       `toml:"stations"`
	What     string         `toml:"what"`
	CostUSD  float64        `toml:"cost_usd"`
}

type document struct {
	Plant struct {
		Name           string `toml:"name"`
		Timezone       string `toml:"timezone"`
		WorkweekStarts string `toml:"workweek_starts"`
		Currency       string `toml:"currency"`
	} `toml:"plant"`
	Pay struct {
		WeeklyThresholdHours      *float64 `toml:"weekly_threshold_hours"`
		Multiplier                *float64 `toml:"multiplier"`
		DailyThresholdHours       *float64 `toml:"daily_threshold_hours"`
		DoubleDailyThresholdHours *float64 `toml:"double_daily_threshold_hours"`
		SeventhDay                string   `toml:"seventh_day"`
		DoubleMultiplier          *float64 `toml:"double_multiplier"`
		MealAfterHours            *float64 `toml:"meal_after_hours"`
		PunchRoundingMin          *float64 `toml:"punch_rounding_min"`
		LongestPunchHours         *float64 `toml:"longest_punch_hours"`
		DoublePunchMin            *float64 `toml:"double_punch_min"`
		RateRounding              string   `toml:"rate_rounding"`
		OvertimePremium           string   `toml:"overtime_premium"`
		BurdenPct                 *float64 `toml:"burden_pct"`
		BurdenUSDPerHour          *float64 `toml:"burden_usd_per_hour"`
	} `toml:"pay"`
	Overhead struct {
		USDPerLabourHour *float64 `toml:"usd_per_labour_hour"`
	} `toml:"overhead"`
	Plates struct {
		Source string `toml:"source"`
	} `toml:"plates"`
	Lumber struct {
		Costing        string         `toml:"costing"`
		Usage          string         `toml:"usage"`
		KerfIn         *float64       `toml:"kerf_in"`
		EndTrimIn      *float64       `toml:"end_trim_in"`
		RemnantMin     string         `toml:"remnant_min"`
		QuotedWastePct *float64       `toml:"quoted_waste_pct"`
		Packs          map[string]int `toml:"packs"`
	} `toml:"lumber"`
	Revenue struct {
		Recognise string `toml:"recognise"`
	} `toml:"revenue"`
	Station []Station `toml:"station"`
	Grades  []Grades  `toml:"grades"`
	Change  []Change  `toml:"change"`
	Compare struct {
		TrailingWeeks *float64 `toml:"trailing_weeks"`
		LearningWeeks *float64 `toml:"learning_weeks"`
		DiscountPct   *float64 `toml:"discount_pct"`
		Years         *float64 `toml:"years"`
	} `toml:"compare"`
	Accounts map[string]string    `toml:"accounts"`
	Feed     map[string]feedTable `toml:"feed"`
	Reports  reportsSection       `toml:"reports"`
	Run      runSection           `toml:"run"`
}

// Read reads plant.toml of the plant folder. feeds are the names that [feed.NAME] may
// have. Its errors are a problem.List.
func Read(folder string, feeds []string) (*Settings, error) {
	path := filepath.Join(folder, FileName)
	data, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, problem.List{{
			Place: FileName, What: fmt.Sprintf("there is no %s in this folder (%s)", FileName, folder), Code: CodeNoPlant,
			Hint: "name the plant's folder with --plant DIR, or make one: trusstally new DIR", Usage: true,
		}}
	}
	if err != nil {
		return nil, problem.List{{Place: FileName, What: "the file cannot be read", Code: "cannot-read", Hint: "check its permissions", Usage: true, Cause: err}}
	}
	return Parse(data, feeds)
}

// Parse reads the text of a plant.toml. Its errors are a problem.List.
func Parse(data []byte, feeds []string) (*Settings, error) {
	var doc document
	decoder := toml.NewDecoder(strings.NewReader(string(data))).DisallowUnknownFields()
	if err := decoder.Decode(&doc); err != nil {
		return nil, decodeProblems(err)
	}
	r := reader{text: string(data)}
	s := r.settings(doc, feeds)
	if len(r.problems) > 0 {
		return nil, r.problems
	}
	sum := sha256.Sum256(data)
	s.Hash = hex.EncodeToString(sum[:])
	return s, nil
}

type reader struct {
	text     string
	problems problem.List
}

// fail records a problem with the setting key of section ("" for none).
func (r *reader) fail(code, section, key, what, hint string) {
	r.problems = append(r.problems, &problem.Problem{
		Place: r.place(section, key), What: what, Code: code, Hint: hint, Usage: true,
	})
}

func (r *reader) settings(doc document, feeds []string) *Settings {
	s := &Settings{Name: doc.Plant.Name, Accounts: doc.Accounts, Grades: doc.Grades, Changes: doc.Change, Stations: doc.Station}
	if s.Name == "" {
		r.fail(CodeMissingSetting, "plant", "name", "the plant has no name", `add name = "…" under [plant]`)
	}
	s.Zone = r.zone(doc.Plant.Timezone)
	s.WeekStartDay, s.WeekStartAt = r.weekStart(orElse(doc.Plant.WorkweekStarts, "Mon 00:00"))
	s.Currency = r.choice("plant", "currency", doc.Plant.Currency, "USD")

	p := doc.Pay
	s.Pay = Pay{
		WeeklyThresholdHours:      r.decimal("pay", "weekly_threshold_hours", p.WeeklyThresholdHours, 40, 0, 168, 4),
		DailyThresholdHours:       r.decimal("pay", "daily_threshold_hours", p.DailyThresholdHours, 0, 0, 24, 4),
		DoubleDailyThresholdHours: r.decimal("pay", "double_daily_threshold_hours", p.DoubleDailyThresholdHours, 0, 0, 24, 4),
		SeventhDay:                r.choice("pay", "seventh_day", p.SeventhDay, "none", "premium"),
		Multiplier:                r.decimal("pay", "multiplier", p.Multiplier, 1.5, 1, 3, 4),
		DoubleMultiplier:          r.decimal("pay", "double_multiplier", p.DoubleMultiplier, 2, 1, 4, 4),
		MealAfterHours:            r.decimal("pay", "meal_after_hours", p.MealAfterHours, 0, 0, 24, 4),
		PunchRoundingMin:          r.punchRounding(p.PunchRoundingMin),
		LongestPunchHours:         r.decimal("pay", "longest_punch_hours", p.LongestPunchHours, 16, 1, 48, 4),
		DoublePunchMin:            r.decimal("pay", "double_punch_min", p.DoublePunchMin, 2, 0, 60, 2),
		RateRounding:              r.choice("pay", "rate_rounding", p.RateRounding, "none", "cent"),
		OvertimePremium:           r.choice("pay", "overtime_premium", p.OvertimePremium, "overhead", "job"),
		BurdenPct:                 r.decimal("pay", "burden_pct", p.BurdenPct, 0, 0, 2, 6),
		BurdenUSDPerHour:          r.decimal("pay", "burden_usd_per_hour", p.BurdenUSDPerHour, 0, 0, 1000, 4),
	}
	if p.DoubleDailyThresholdHours != nil && *p.DoubleDailyThresholdHours > 0 &&
		(p.DailyThresholdHours == nil || *p.DailyThresholdHours <= 0 || *p.DoubleDailyThresholdHours <= *p.DailyThresholdHours) {
		r.fail("out-of-range", "pay", "double_daily_threshold_hours", fmt.Sprintf("double time begins past daily overtime (%v)", *p.DoubleDailyThresholdHours),
			"daily_threshold_hours comes first and is the lower: 8 and 12, say")
	}

	s.Overhead = r.decimal("overhead", "usd_per_labour_hour", doc.Overhead.USDPerLabourHour, 0, 0, 10000, 4)
	s.Plates = r.choice("plates", "source", doc.Plates.Source, "standard", "invoiced")
	l := doc.Lumber
	s.Lumber = Lumber{
		Costing:             r.choice("lumber", "costing", l.Costing, "fifo", "average"),
		Usage:               r.choice("lumber", "usage", l.Usage, "logged", "backflush"),
		KerfSixtyFourths:    r.sixtyFourths("kerf_in", l.KerfIn, 8),
		EndTrimSixtyFourths: r.sixtyFourths("end_trim_in", l.EndTrimIn, 0),
		RemnantMin:          orElse(l.RemnantMin, "2-00-00"),
		QuotedWastePct:      r.decimal("lumber", "quoted_waste_pct", l.QuotedWastePct, 0, 0, 0.9, 6),
	}
	s.Lumber.Packs = r.packs(l.Packs)
	if !regexp.MustCompile(`^\d{1,3}-(0?\d|1[01])-(0?\d|1[0-5])$`).MatchString(s.Lumber.RemnantMin) {
		r.fail("bad-length", "lumber", "remnant_min", fmt.Sprintf("not a length in feet-inches-sixteenths (%s)", s.Lumber.RemnantMin), `write it as "2-00-00"`)
	}
	s.Revenue = r.choice("revenue", "recognise", doc.Revenue.Recognise, "shipped", "over_time")

	c := doc.Compare
	s.Compare = Compare{
		TrailingWeeks: r.whole("compare", "trailing_weeks", c.TrailingWeeks, 26, 4, 260),
		LearningWeeks: r.whole("compare", "learning_weeks", c.LearningWeeks, 1, 0, 26),
		DiscountPct:   r.decimal("compare", "discount_pct", c.DiscountPct, 0.08, 0, 1, 6),
		Years:         r.whole("compare", "years", c.Years, 5, 1, 40),
	}

	s.Reports = r.reports(doc.Reports)
	s.Run = r.run(doc.Run)
	r.accounts(s.Accounts)
	r.stations(s.Stations)
	r.changes(s.Changes, s.Stations)
	s.Feeds = r.feeds(doc.Feed, feeds)
	return s
}

func (r *reader) zone(name string) *time.Location {
	if name == "" {
		r.fail(CodeMissingSetting, "plant", "timezone", "the plant has no time zone", `add timezone = "America/Chicago" (or yours) under [plant]`)
		return time.UTC
	}
	return r.zoneOf("plant", "timezone", name)
}

// zoneOf reads the name of a zone.
func (r *reader) zoneOf(section, key, name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		r.fail(CodeBadSetting, section, key, fmt.Sprintf("not a time zone (%s)", name), "use a name of the IANA time zone database, such as America/Chicago")
		return time.UTC
	}
	return zone
}

var weekdays = map[string]time.Weekday{
	"Sun": time.Sunday, "Mon": time.Monday, "Tue": time.Tuesday, "Wed": time.Wednesday,
	"Thu": time.Thursday, "Fri": time.Friday, "Sat": time.Saturday,
}

func (r *reader) weekStart(text string) (time.Weekday, time.Duration) {
	if match := regexp.MustCompile(`^(\w{3}) ([01]\d|2[0-3]):([0-5]\d)$`).FindStringSubmatch(text); match != nil {
		if day, ok := weekdays[match[1]]; ok {
			hours, _ := strconv.Atoi(match[2])
			mins, _ := strconv.Atoi(match[3])
			return day, time.Duration(hours)*time.Hour + time.Duration(mins)*time.Minute
		}
	}
	r.fail(CodeBadSetting, "plant", "workweek_starts", fmt.Sprintf("not a day and time (%s)", text), `write it as "Mon 00:00" or "Sun 22:00"`)
	return time.Monday, 0
}

// choice returns the value, or the first choice when it is blank.
func (r *reader) choice(section, key, value string, choices ...string) string {
	if value == "" {
		return choices[0]
	}
	if !slices.Contains(choices, value) {
		what := fmt.Sprintf("%s can't be %q", key, value)
		hint := "this version knows " + strings.Join(choices, ", ")
		if near := problem.Nearest(value, choices); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		r.fail(CodeBadSetting, section, key, what, hint)
	}
	return value
}

// decimal returns the number as the shortest decimal text, which is what was typed.
func (r *reader) decimal(section, key string, value *float64, standard, low, high float64, places int) string {
	number := standard
	if value != nil {
		number = *value
	}
	text := strconv.FormatFloat(number, 'f', -1, 64)
	if math.IsNaN(number) || number < low || number > high {
		hint := fmt.Sprintf("from %v to %v", low, high)
		if strings.HasSuffix(key, "_pct") {
			hint = "a share is written as a fraction: 0.22 for 22 %"
		}
		r.fail("out-of-range", section, key, fmt.Sprintf("%s is out of range (%s)", key, text), hint)
	} else if point := strings.IndexByte(text, '.'); point >= 0 && len(text)-point-1 > places {
		r.fail("too-many-decimals", section, key, fmt.Sprintf("%s has more than %d decimals (%s)", key, places, text), "nothing is rounded silently: shorten it yourself")
	}
	return text
}

func (r *reader) sixtyFourths(key string, value *float64, standard int) int {
	if value == nil {
		return standard
	}
	parts := *value * 64
	if parts != math.Trunc(parts) || parts < 0 || parts > 64*24 {
		r.fail(CodeBadSetting, "lumber", key, fmt.Sprintf("not a whole number of 64ths of an inch (%v)", *value), "1/8 is 0.125, 9/64 is 0.140625")
		return standard
	}
	return int(parts)
}

// packs returns the pack sizes in order of size.
func (r *reader) packs(boards map[string]int) []Pack {
	var list []Pack
	for size, n := range boards {
		if !regexp.MustCompile(`^[0-9]+(/[0-9]+)?x[0-9]+$`).MatchString(size) || n < 1 {
			r.fail(CodeBadSetting, "lumber.packs", "\""+size+"\"", fmt.Sprintf("not a size and its boards a pack (%s = %d)", size, n), `write "2x4" = 294`)
			continue
		}
		list = append(list, Pack{Size: size, Boards: n})
	}
	sort.Slice(list, func(i, k int) bool { return list[i].Size < list[k].Size })
	return list
}

// punchRounding returns the minutes to which punches are rounded; 0 for none.
func (r *reader) punchRounding(value *float64) int {
	if value == nil {
		return 0
	}
	switch *value {
	case 0, 5, 6, 15:
		return int(*value)
	}
	r.fail(CodeBadSetting, "pay", "punch_rounding_min", fmt.Sprintf("punches can't be rounded to %v minutes", *value), "0, 5, 6 (a tenth of an hour) or 15")
	return 0
}

// AccountNames are the accounts of the journal.
var AccountNames = []string{
	"burden_actual", "burden_applied", "cost_of_goods_sold", "customer_deposits", "finished_goods", "lumber", "lumber_variance", "opening_balances",
	"overhead_actual", "overhead_applied", "payables", "plates", "receivables", "revenue", "wages_payable", "work_in_process",
}

func (r *reader) accounts(accounts map[string]string) {
	names := make([]string, 0, len(accounts))
	for name := range accounts {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		if slices.Contains(AccountNames, name) {
			continue
		}
		hint := "the journal's accounts are " + strings.Join(AccountNames, ", ")
		if near := problem.Nearest(name, AccountNames); near != "" {
			hint = "did you mean " + near + "?"
		}
		r.fail(CodeUnknownSetting, "accounts", name, fmt.Sprintf("the journal has no account of that name (%s)", name), hint)
	}
}

func (r *reader) stations(stations []Station) {
	if len(stations) == 0 {
		r.fail(CodeMissingSetting, "station", "", "the plant has no stations", `add a [[station]] with code = "T1" and kind = "table" for each saw, table, finishing station and the yard`)
	}
	seen := map[string]bool{}
	for _, station := range stations {
		switch {
		case station.Code == "":
			r.fail(CodeMissingSetting, "station", "code", "a station has no code", `add code = "T1" under its [[station]]`)
		case seen[station.Code]:
			r.fail(CodeBadSetting, "station", "code", fmt.Sprintf("two stations have one code (%s)", station.Code), "each station has its own code")
		case !slices.Contains([]string{"saw", "table", "finish", "yard"}, station.Kind):
			r.fail(CodeBadSetting, "station", "kind", fmt.Sprintf("station %s has no kind that is known (%s)", station.Code, station.Kind), "saw, table, finish or yard")
		case !slices.Contains([]string{"", "manual", "automatic"}, station.Jigging):
			r.fail(CodeBadSetting, "station", "jigging", fmt.Sprintf("station %s has no jigging that is known (%s)", station.Code, station.Jigging), "manual or automatic")
		}
		seen[station.Code] = true
	}
}

func orElse(value, standard string) string {
	if value == "" {
		return standard
	}
	return value
}
