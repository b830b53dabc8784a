package ingest

import (
	"errors"
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

// TestRulesAreChecked holds wrong reading rules, one at a time, against what is said of
// them. The first line of a rule stands on line 7 of plant.toml.
func TestRulesAreChecked(t *testing.T) {
	const necessary = "[plant]\nname = \"Mill\"\ntimezone = \"UTC\"\n[[station]]\ncode = \"T1\"\nkind = \"table\"\n"
	for _, c := range []struct{ rules, want string }{
		{"[feed.timecards]\ndelimiter = \":\"", `plant.toml:8:1: delimiter can't be ":" [bad-setting] ",", ";", "|" or "\t" for a tab`},
		{"[feed.timecards]\nencoding = \"windows1252\"", `plant.toml:8:1: encoding can't be "windows1252" [bad-setting] did you mean "windows-1252"?`},
		{"[feed.timecards]\ndecimal = \",\"", `plant.toml:8:1: decimals and thousands have the same mark (,) [bad-setting] say what stands between thousands as well: thousands = "."`},
		{"[feed.timecards]\nthousands = \".\"", `plant.toml:8:1: decimals and thousands have the same mark (.) [bad-setting] one mark can't be both: thousands = "" says that there is none`},
		{"[feed.timecards]\nthousands = \"_\"", `plant.toml:8:1: thousands can't be "_" [bad-setting] ",", ".", " ", "'" or "" for none`},
		{"[feed.timecards]\ncurrency = \"1\"", `plant.toml:8:1: not a sign of currency (1) [bad-setting] a sign or word such as "$" or "USD"`},
		{"[feed.timecards]\nzone = \"Mars/Base\"", `plant.toml:8:1: not a time zone (Mars/Base) [bad-setting] use a name of the IANA time zone database, such as America/Chicago`},
		{"[feed.timecards]\nheader_row = 0", `plant.toml:8:1: header_row is out of range (0) [out-of-range] the line of the header row, from 1 to 1000`},
		{"[feed.timecards]\nheader_row = \" \"", `plant.toml:8:1: header_row is blank [bad-setting] a line such as 4, or how the row begins, such as "Item"`},
		{"[feed.timecards]\nheader_row = true", `plant.toml:8:1: not a row (true) [bad-setting] a line such as 4, or how the row begins, such as "Item"`},
		{"[feed.timecards]\nfooter = [\"*\"]", `plant.toml:8:1: a pattern that would take any line (*) [bad-setting] write how the first cell begins, such as "Total*"`},
		{"[feed.timecards]\nremarks = [\"Rows: {rows}\"]", `plant.toml:8:1: a remark counts no rows (Rows: {rows}) [bad-setting] a footer or subtotal line may have {rows}`},
		{"[feed.timecards]\ntotals = [\"hours\"]", `plant.toml:8:1: no line carries totals [bad-setting] say how it begins: footer = ["Total*"]`},
		{"[feed.timecards]\ntotals = [\"ours\"]\nfooter = [\"Total*\"]", `plant.toml:8:1: timecards has no column of that name (feed.timecards.totals: ours) [unknown-column] did you mean hours?`},
		{"[feed.timecards]\ntotals = [\"crew\"]\nfooter = [\"Total*\"]", `plant.toml:8:1: crew has no total: it is no number with a column of its own [bad-setting] name columns of numbers, such as amount_usd`},
		{"[feed.timecards]\ndate_format = \"MM/YYYY\"", `plant.toml:8:1: not a form of dates (MM/YYYY) [bad-setting] year, month and day such as MM/DD/YYYY, D.M.YY or DD-MMM-YYYY`},
		{"[feed.timecards]\ndate_format = \"YYYY-DD-MM\"", `plant.toml:8:1: not a form of dates (YYYY-DD-MM) [bad-setting] year, month and day such as MM/DD/YYYY, D.M.YY or DD-MMM-YYYY`},
		{"[feed.timecards]\ntime_format = \"h:MM\"", `plant.toml:8:1: not a form of times (h:MM) [bad-setting] HH:MM or H:MM by a 24-hour clock, h:MM AM by a 12-hour one, :SS where there are seconds`},
		{"[feed.timecards.columns]\nemploye = \"Badge\"", `plant.toml:8:1: timecards has no column of that name (feed.timecards.columns.employe) [unknown-column] did you mean employee?`},
		{"[feed.timecards.columns]\nemployee = 7", `plant.toml:8:1: not a heading (7) [bad-setting] a heading such as "Badge", { date = "Date", time = "In" }, or { packs = "Units", of = "Pcs" }`},
		{"[feed.timecards.columns]\nstarted_at = { date = \"Date\", tiem = \"In\" }", `plant.toml:8:1: unknown setting (started_at.tiem) [unknown-setting] did you mean time?`},
		{"[feed.timecards.columns]\nended_at = { date = \"Date\" }", `plant.toml:8:1: not a heading (ended_at) [bad-setting] a heading such as "Badge", { date = "Date", time = "In" }, or { packs = "Units", of = "Pcs" }`},
		{"[feed.timecards.columns]\nwork_date = { date = \"Date\", time = \"In\" }", `plant.toml:8:1: work_date is no time: it has no date and time apart [bad-setting] name its heading alone`},
		{"[feed.timecards.columns]\nended_at = { date = \"Date\", time = \"Out\", after = \"work_date\" }", `plant.toml:8:1: not a time that comes before ended_at (work_date) [bad-setting] name the column of the earlier time, which has no after of its own`},
		{"[feed.timecards.columns]\nhours = { packs = \"Units\", of = 5 }", `plant.toml:8:1: hours does not come in packs [bad-setting] only boards do`},
		{"[feed.receipts.columns]\nboards = { packs = \"Units\" }", `plant.toml:8:1: the boards of a pack are not known [bad-setting] say of = 294, of = "Pcs" for a column of the file, or the packs of each size under [lumber.packs]`},
		{"[feed.timecards.units]\nhours = \"days\"", `plant.toml:8:1: hours has no unit of that name (days) [bad-setting] the units are h:mm, minutes`},
		{"[feed.timecards.units]\ncrew = \"hours\"", `plant.toml:8:1: crew has no unit of that name (hours) [bad-setting] it is read as it stands: delete the line`},
		{"[feed.timecards.codes.Kind]\nREG = \"worked\"", `plant.toml:8:1: no column of timecards stands under this heading (Kind) [bad-setting] say for which column the code is: { grade = "No. 2" }`},
		{"[feed.timecards.codes.pay_code]\nREG = 5", `plant.toml:8:1: a code without a meaning (REG) [bad-setting] a value such as "worked", or values by column such as { species = "SPF", grade = "No. 2" }`},
		{"[feed.timecards.codes.pay_code]\nREG = { pay_code = 5 }", `plant.toml:8:1: not a value of pay_code (5) [bad-setting] text in double quotes, such as { species = "SPF", grade = "No. 2" }`},
		{"[feed.receipts.codes.\"Wood #\"]\n\"#2\" = { grad = \"No. 2\" }", `plant.toml:8:1: receipts has no column of that name (feed.receipts.codes.Wood #.#2: grad) [unknown-column] did you mean grade?`},
		{"[feed.receipts.columns]\ngrade = \"Grade\"\n[feed.receipts.codes.Wood]\n\"#2\" = { grade = \"No. 2\" }", `plant.toml:9: grade is said to stand in two places [bad-setting] a column that codes fill is named nowhere else`},
		{"[feed.receipts.split]\nItem = \"{size}{grade}\"", `plant.toml:8:1: nothing stands between two parts ({size}{grade}) [bad-setting] parts in braces and what stands between them, such as "{size} {species} {grade...} {length}"`},
		{"[feed.receipts.split]\nItem = \"{size...} {grade...}\"", `plant.toml:8:1: only one part may have dots ({size...} {grade...}) [bad-setting] parts in braces and what stands between them, such as "{size} {species} {grade...} {length}"`},
		{"[feed.receipts.split]\nItem = \"plain\"", `plant.toml:8:1: no part in braces (plain) [bad-setting] parts in braces and what stands between them, such as "{size} {species} {grade...} {length}"`},
		{"[feed.receipts.split]\n\"Item no\" = \"{size} {grad}\"", `plant.toml:8:1: receipts has no column of that name (feed.receipts.split.Item no: grad) [unknown-column] did you mean grade?`},
		{"[feed.receipts.columns]\nsize = \"Dim\"\n[feed.receipts.split]\nItem = \"{size} {grade}\"", `plant.toml:10:1: size is said to stand in two places [bad-setting] name it once, under columns or in one pattern`},
	} {
		settings, err := plant.Parse([]byte(necessary+c.rules+"\n"), feedNames(Feeds()))
		if err == nil {
			err = CheckRules(settings)
		}
		var list problem.List
		got := ""
		if errors.As(err, &list) {
			for _, p := range list {
				got += fmt.Sprintf("%s: %s [%s] %s", p.Place, p.What, p.Code, p.Hint)
			}
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s\n-want +got:\n%s", c.rules, diff)
		}
	}
}
