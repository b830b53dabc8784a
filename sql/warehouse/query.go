package warehouse

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"iter"
	"math/big"
	"strings"
	"time"

	"github.com/duckdb/duckdb-go/v2"

	"trusstally/ingest/problem"
)

// Number is an exact decimal as text, with all the decimals of its column: "12.50".
type Number string

// ResultColumn is one column of a query's result.
type ResultColumn struct {
	Name string
	Type string // DuckDB's name of the type, such as DATE or DECIMAL(14,2)
}

// Query runs one SELECT with named parameters and calls each for every row: nil, string,
// bool, Number or time.Time (wall clock). The names of the parameters must be exactly those
// in the text; a misspelt one would otherwise be bound by position. The row is reused.
// columns is called once, before the first row.
func (w *Warehouse) Query(ctx context.Context, text string, parameters map[string]any, columns func([]ResultColumn), each func(row []any) error) error {
	limited, stop := w.limits.within(ctx)
	defer stop()
	return w.limits.limitProblem(limited, w.query(limited, text, parameters, columns, each))
}

// query prepares the text once: a statement of the books takes as long to prepare as to run.
func (w *Warehouse) query(ctx context.Context, text string, parameters map[string]any, columns func([]ResultColumn), each func(row []any) error) error {
	return w.prepared(ctx, text, func(prepared driver.Stmt) error {
		statement, ok := prepared.(*duckdb.Stmt)
		if !ok {
			return errors.New("the driver's statement has another type")
		}
		if err := checkStatement(statement, parameters); err != nil {
			return err
		}
		arguments, err := namedArguments(parameters)
		if err != nil {
			return err
		}
		rows, err := statement.QueryContext(ctx, arguments)
		if err != nil {
			return sqlProblem(err)
		}
		defer rows.Close()
		return walk(rows, columns, each)
	})
}

// walk hands over the columns and each row of a result.
func walk(rows driver.Rows, columns func([]ResultColumn), each func(row []any) error) error {
	types, ok := rows.(driver.RowsColumnTypeDatabaseTypeName)
	if !ok {
		return errors.New("the driver's rows do not name their types")
	}
	names := rows.Columns()
	described := make([]ResultColumn, len(names))
	for i, name := range names {
		described[i] = ResultColumn{Name: name, Type: types.ColumnTypeDatabaseTypeName(i)}
	}
	if columns != nil {
		columns(described)
	}
	row, values := make([]any, len(names)), make([]driver.Value, len(names))
	for {
		if err := rows.Next(values); err == io.EOF {
			return nil
		} else if err != nil {
			return sqlProblem(err)
		}
		for i, value := range values {
			row[i] = plain(value)
		}
		if err := each(row); err != nil {
			return err
		}
	}
}

// Rows is Query as a sequence of rows, for a writer that walks them once.
func (w *Warehouse) Rows(ctx context.Context, text string, parameters map[string]any) iter.Seq2[[]any, error] {
	return func(yield func([]any, error) bool) {
		stopped := errors.New("stopped")
		err := w.Query(ctx, text, parameters, nil, func(row []any) error {
			if !yield(row, nil) {
				return stopped
			}
			return nil
		})
		if err != nil && !errors.Is(err, stopped) {
			yield(nil, err)
		}
	}
}

// Bind is what the engine says of a SELECT before it runs, whatever fills its parameters: a
// problem.List, or nil.
func (w *Warehouse) Bind(ctx context.Context, text string) error {
	return w.prepared(ctx, text, func(driver.Stmt) error { return nil })
}

// prepared hands over the text as the driver's own connection prepares it, which refuses more
// than one statement and runs nothing. What the engine says against it is a problem.List.
func (w *Warehouse) prepared(ctx context.Context, text string, look func(driver.Stmt) error) error {
	conn, err := w.DB.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	return conn.Raw(func(raw any) error {
		prepared, err := raw.(driver.ConnPrepareContext).PrepareContext(ctx, text)
		if err != nil {
			return sqlProblem(err)
		}
		defer prepared.Close()
		return look(prepared)
	})
}

// checkStatement says whether the statement is a SELECT, and whether the parameters are the
// ones that it names.
func checkStatement(statement *duckdb.Stmt, parameters map[string]any) error {
	kind, err := statement.StatementType()
	if err != nil {
		return err
	}
	if kind != duckdb.STATEMENT_TYPE_SELECT {
		return problem.List{{What: "only one SELECT can be run", Code: CodeNotASelect, Usage: true, Hint: "start with SELECT or WITH; nothing can be changed from here"}}
	}
	wanted := map[string]bool{}
	for i := 1; i <= statement.NumInput(); i++ {
		name, err := statement.ParamName(i)
		if err != nil {
			return err
		}
		if _, given := parameters[name]; !given {
			return parameterProblem(fmt.Sprintf("nothing fills the parameter $%s of the SQL", name))
		}
		wanted[name] = true
	}
	for name := range parameters {
		if !wanted[name] {
			return parameterProblem(fmt.Sprintf("the parameter $%s is declared and not in the SQL", name))
		}
	}
	return nil
}

// parameterProblem is a parameter that is in the SQL or declared, and not in both.
func parameterProblem(what string) error {
	return problem.List{{What: what, Code: "unknown-param", Usage: true, Hint: "a sheet declares each $name of its SQL in a param line; a query takes none"}}
}

// sqlProblem turns the engine's complaint about a text into a problem; nil stays nil.
func sqlProblem(err error) error {
	if err == nil {
		return nil
	}
	what := err.Error()
	for _, kind := range []string{"Parser Error", "Binder Error", "Catalog Error", "Conversion Error", "Invalid Input Error", "Permission Error", "Out of Range Error"} {
		if strings.HasPrefix(what, kind) {
			first, _, _ := strings.Cut(strings.TrimPrefix(what, kind+": "), "\n")
			return problem.List{{What: "the SQL can't be run: " + first, Code: CodeBadSQL, Usage: true,
				Hint: "trusstally list --tables shows the tables and their columns", Cause: err}}
		}
	}
	return err
}

// plain converts the driver's values to nil, string, bool, Number or time.Time.
func plain(value any) any {
	switch v := value.(type) {
	case nil, string, bool, time.Time:
		return v
	case duckdb.Decimal:
		return decimalText(v.Value, int(v.Scale))
	case *big.Int:
		return Number(v.String())
	case int8, int16, int32, int64, uint8, uint16, uint32, uint64, int, float32, float64:
		return Number(fmt.Sprint(v))
	default:
		return fmt.Sprint(v)
	}
}

// decimalText writes value / 10^scale with all its decimals.
func decimalText(value *big.Int, scale int) Number {
	digits := new(big.Int).Abs(value).String()
	if scale > 0 {
		if len(digits) <= scale {
			digits = strings.Repeat("0", scale-len(digits)+1) + digits
		}
		digits = digits[:len(digits)-scale] + "." + digits[len(digits)-scale:]
	}
	if value.Sign() < 0 {
		digits = "-" + digits
	}
	return Number(digits)
}
