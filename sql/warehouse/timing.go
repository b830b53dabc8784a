package warehouse

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"time"

	"trusstally/ingest/plant"
)

// StatementTime is one statement of the ledgers and how long it took.
type StatementTime struct {
	File  string // within sql/
	Line  int    // on which the statement begins
	First string // its first line
	Took  time.Duration
}

// TimeLedgers is BuildLedgers, statement by statement, and tells how long each took. What
// Go does between them, and files that are repeated, are in none.
func TimeLedgers(ctx context.Context, tx *sql.Tx, settings *plant.Settings, told func(StatementTime)) error {
	return buildLedgers(ctx, tx, settings, func(ctx context.Context, tx *sql.Tx, file string) error {
		text, err := sqlText(file)
		if err != nil {
			return err
		}
		for _, statement := range statementsOf(text) {
			began := time.Now()
			if _, err := tx.ExecContext(ctx, statement.text); err != nil {
				return fmt.Errorf("sql/%s:%d: %w", file, statement.line, err)
			}
			first, _, _ := strings.Cut(statement.text, "\n")
			told(StatementTime{File: file, Line: statement.line, First: first, Took: time.Since(began)})
		}
		return nil
	})
}

// statement is one statement of a file, from its first word to before its semicolon.
type statement struct {
	text string
	line int
}

// statementsOf parts the text of one of our own files at the semicolons that stand in no
// text, name or comment. Comments before a statement are left out.
func statementsOf(text string) []statement {
	var list []statement
	line, begin, beginLine := 1, -1, 0
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '\n':
			line++
			continue
		case c == ' ' || c == '\t' || c == '\r':
			continue
		case c == '-' && strings.HasPrefix(text[i:], "--"):
			for i+1 < len(text) && text[i+1] != '\n' {
				i++
			}
			continue
		case c == ';':
			if begin >= 0 {
				list = append(list, statement{text[begin:i], beginLine})
			}
			begin = -1
			continue
		}
		if begin < 0 {
			begin, beginLine = i, line
		}
		if quote := text[i]; quote == '\'' || quote == '"' {
			for i++; i < len(text) && text[i] != quote; i++ {
				if text[i] == '\n' {
					line++
				}
			}
		}
	}
	if begin >= 0 {
		list = append(list, statement{strings.TrimSpace(text[begin:]), beginLine})
	}
	return list
}
