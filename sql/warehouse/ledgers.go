package warehouse

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"math/big"
	"path"
	"sort"
	"strconv"
	"strings"

	"trusstally/ingest/plant"
)

// BuildLedgers drops the ledgers and builds them anew from the feeds inside tx, with the
// plant's settings: sql/ledgers in the order of the file names. A file named *.repeat.sql
// is run until it changes nothing.
func BuildLedgers(ctx context.Context, tx *sql.Tx, settings *plant.Settings) error {
	return buildLedgers(ctx, tx, settings, runLedgerFile)
}

// repeated is how the name of a file ends whose statement is run until it changes nothing.
const repeated = ".repeat.sql"

// numbered are the tables whose rows are numbered; the numbers of renewed rows go on from
// those that are kept.
var numbered = []string{"punches", "run_rows", "minute_rows", "board_moves", "board_rows"}

// buildLedgers builds the ledgers with run for each file.
func buildLedgers(ctx context.Context, tx *sql.Tx, settings *plant.Settings, run func(context.Context, *sql.Tx, string) error) error {
	for _, table := range numbered {
		if err := setKept(ctx, tx, table, 0); err != nil {
			return err
		}
	}
	for _, file := range filesIn("ledgers") {
		if err := run(ctx, tx, file); err != nil {
			return err
		}
		if path.Base(file) == "30_board_moves.sql" && settings.Lumber.Costing == "average" {
			if err := fillAverageCosts(ctx, tx); err != nil {
				return err
			}
		}
		if path.Base(file) == "00_settings.sql" {
			if err := fillSettings(ctx, tx, settings); err != nil {
				return err
			}
			if err := fillCalendar(ctx, tx, settings); err != nil {
				return err
			}
		}
	}
	return emptyOpenings(ctx, tx)
}

// emptyOpenings takes out what nobody needs once the ledgers stand.
func emptyOpenings(ctx context.Context, tx *sql.Tx) error {
	_, err := tx.ExecContext(ctx, "DELETE FROM steps.opening_runs; DELETE FROM steps.opening_jobs; DELETE FROM steps.opening_items")
	return err
}

func runLedgerFile(ctx context.Context, tx *sql.Tx, file string) error {
	if !strings.HasSuffix(file, repeated) {
		return runFile(ctx, tx, file)
	}
	text, err := sqlText(file)
	if err != nil {
		return err
	}
	if err := repeatText(ctx, tx, text); err != nil {
		return fmt.Errorf("sql/%s: %w", file, err)
	}
	return nil
}

// ledgersHash is the SHA-256 of all ledger SQL: it tells ledgers of one version from another's.
func ledgersHash() string {
	hash := sha256.New()
	for _, file := range filesIn("ledgers") {
		text, err := sqlText(file)
		if err == nil {
			fmt.Fprintf(hash, "%s\n%s\n", file, text)
		}
	}
	return hex.EncodeToString(hash.Sum(nil))
}

// mostPasses bounds a repeated statement: a chain of returns longer than this is a fault.
const mostPasses = 1000

func repeatText(ctx context.Context, tx *sql.Tx, text string) error {
	for range mostPasses {
		result, err := tx.ExecContext(ctx, text)
		if err != nil {
			return err
		}
		changed, err := result.RowsAffected()
		if err != nil {
			return err
		}
		if changed == 0 {
			return nil
		}
	}
	return fmt.Errorf("it still changes rows after %d passes", mostPasses)
}

// scaled returns the decimal text times 10^places, exactly.
func scaled(text string, places int) int64 {
	number, ok := new(big.Rat).SetString(text)
	if !ok {
		return 0
	}
	power := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil)
	number.Mul(number, new(big.Rat).SetInt(power))
	return new(big.Int).Quo(number.Num(), number.Denom()).Int64()
}

// seconds returns hours as whole seconds.
func seconds(hours string) int64 { return scaled(hours, 4) * 3600 / 10000 }

func fillSettings(ctx context.Context, tx *sql.Tx, s *plant.Settings) error {
	values := []any{
		s.Name, s.Zone.String(), fmt.Sprintf("%s %02d:%02d", s.WeekStartDay.String()[:3], int(s.WeekStartAt.Hours()), int(s.WeekStartAt.Minutes())%60), s.Currency,
		seconds(s.Pay.WeeklyThresholdHours), scaled(s.Pay.Multiplier, 4) - 10000, seconds(s.Pay.DailyThresholdHours),
		seconds(s.Pay.DoubleDailyThresholdHours), scaled(s.Pay.DoubleMultiplier, 4) - 10000, s.Pay.SeventhDay == "premium",
		s.Pay.PunchRoundingMin * 60, seconds(s.Pay.LongestPunchHours), scaled(s.Pay.DoublePunchMin, 2) * 60 / 100,
		seconds(s.Pay.MealAfterHours), s.Pay.RateRounding, s.Pay.OvertimePremium,
		scaled(s.Pay.BurdenPct, 6), scaled(s.Pay.BurdenUSDPerHour, 4), scaled(s.Overhead, 4), s.Plates, s.Lumber.Costing, s.Lumber.Usage,
		s.Lumber.KerfSixtyFourths, s.Lumber.EndTrimSixtyFourths, lengthSixteenths(s.Lumber.RemnantMin), s.Lumber.QuotedWastePct, s.Revenue,
		s.Compare.TrailingWeeks, s.Compare.LearningWeeks, s.Compare.DiscountPct, s.Compare.Years, s.Hash, ledgersHash(),
	}
	if _, err := tx.ExecContext(ctx, "INSERT INTO settings VALUES ("+strings.TrimSuffix(strings.Repeat("?,", len(values)), ",")+")", values...); err != nil {
		return err
	}
	for _, station := range s.Stations {
		if _, err := tx.ExecContext(ctx, "INSERT INTO stations VALUES (?, ?, nullif(?, ''))", station.Code, station.Kind, station.Jigging); err != nil {
			return err
		}
	}
	for _, change := range s.Changes {
		for _, station := range change.Stations {
			if _, err := tx.ExecContext(ctx, "INSERT INTO changes VALUES (?, ?::DATE, ?, nullif(?, ''), ?::DECIMAL(14,2))", change.Code, change.On.String(), station, change.What,
				strconv.FormatFloat(change.CostUSD, 'f', 2, 64)); err != nil {
				return err
			}
		}
	}
	names := make([]string, 0, len(s.Accounts))
	for name := range s.Accounts {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		if _, err := tx.ExecContext(ctx, "INSERT INTO accounts VALUES (?, ?)", name, s.Accounts[name]); err != nil {
			return err
		}
	}
	for _, pack := range s.Lumber.Packs {
		if _, err := tx.ExecContext(ctx, "INSERT INTO packs VALUES (?, ?)", pack.Size, pack.Boards); err != nil {
			return err
		}
	}
	for _, grades := range s.Grades {
		for i, grade := range grades.Order {
			if _, err := tx.ExecContext(ctx, "INSERT INTO grade_order VALUES (?, ?, ?)", grades.Species, grade, i+1); err != nil {
				return err
			}
		}
	}
	return nil
}

// lengthSixteenths converts the checked feet-inches-sixteenths of plant.toml.
func lengthSixteenths(text string) int {
	total := 0
	for i, part := range strings.SplitN(text, "-", 3) {
		number, _ := strconv.Atoi(part)
		total += number * []int{192, 16, 1}[i]
	}
	return total
}
