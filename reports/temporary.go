package reports

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// temporaryRows collects the rows of temporary tables as the engine writes them.
type temporaryRows map[string][]string

func (t temporaryRows) add(table string, values ...any) {
	texts := make([]string, len(values))
	for i, value := range values {
		if word, ok := value.(string); ok {
			texts[i] = "'" + strings.ReplaceAll(word, "'", "''") + "'"
		} else {
			texts[i] = fmt.Sprint(value)
		}
	}
	t[table] = append(t[table], "("+strings.Join(texts, ", ")+")")
}

// store empties the tables and fills them.
func (t temporaryRows) store(ctx context.Context, from Source, tables []string) error {
	for _, table := range tables {
		if _, err := from.DB.ExecContext(ctx, "DELETE FROM temp."+table); err != nil {
			return err
		}
		if err := from.FillTemporary(ctx, table, t[table]); err != nil {
			return err
		}
	}
	return nil
}

// decimal is a figure with so many decimals, for the engine: NULL for what can't be had.
func decimal(value float64, places int) any {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return null{}
	}
	text := strconv.FormatFloat(value, 'f', places, 64)
	if number, err := strconv.ParseFloat(text, 64); err == nil && number == 0 {
		return figure("0")
	}
	return figure(text)
}

// figure is a number as the engine reads it.
type figure string

func (f figure) String() string { return string(f) }

// null is a blank of the engine's.
type null struct{}

func (null) String() string { return "NULL" }

func text(cell any) string {
	word, _ := cell.(string)
	return word
}

func number(cell any) int64 {
	n, _ := strconv.ParseInt(fmt.Sprint(cell), 10, 64)
	return n
}

// asFloat is a number of the engine's for statistics; NaN for a blank.
func asFloat(cell any) float64 {
	if cell == nil {
		return math.NaN()
	}
	n, err := strconv.ParseFloat(fmt.Sprint(cell), 64)
	if err != nil {
		return math.NaN()
	}
	return n
}
