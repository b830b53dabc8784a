package workbook

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"time"
)

// spool keeps the rows of a sheet outside the heap between the two passes over them: the
// first learns totals, widths and places of rows, the second writes. The caller's rows can
// be walked only once.
type spool struct {
	data   spill
	rows   int
	record []byte // reused for each row
}

// Tags of spooled cells.
const (
	tagBlank byte = iota
	tagText
	tagNumber
	tagTime
)

// add takes a row of settled cells.
func (s *spool) add(row []any) error {
	record, err := appendRow(s.record[:0], row)
	if err != nil {
		return err
	}
	s.record = record
	s.rows++
	_, err = s.data.Write(record)
	return err
}

// appendRow writes the cells of a row behind the record.
func appendRow(record []byte, row []any) ([]byte, error) {
	for _, cell := range row {
		switch value := cell.(type) {
		case nil:
			record = append(record, tagBlank)
		case string:
			record = appendText(append(record, tagText), value)
		case Number:
			record = appendText(append(record, tagNumber), string(value))
		case time.Time:
			record = binary.AppendVarint(append(record, tagTime), value.Unix())
		default:
			return nil, fmt.Errorf("cannot spool a %T", cell)
		}
	}
	return record, nil
}

func appendText(record []byte, text string) []byte {
	return append(binary.AppendUvarint(record, uint64(len(text))), text...)
}

// each walks the rows in order, up to limit of them (all if limit is 0). The row is reused.
func (s *spool) each(columns, limit int, visit func(index int, row []any) error) error {
	source, err := s.data.reader()
	if err != nil {
		return err
	}
	if limit == 0 || limit > s.rows {
		limit = s.rows
	}
	return readRows(source, columns, limit, visit)
}

// readRows walks so many rows. The row is reused.
func readRows(source io.Reader, columns, rows int, visit func(index int, row []any) error) error {
	reader := bufio.NewReaderSize(source, 64<<10)
	row := make([]any, columns)
	for index := range rows {
		for i := range row {
			var err error
			if row[i], err = readCell(reader); err != nil {
				return fmt.Errorf("read a spooled row: %w", err)
			}
		}
		if err := visit(index, row); err != nil {
			return err
		}
	}
	return nil
}

func readCell(reader *bufio.Reader) (any, error) {
	tag, err := reader.ReadByte()
	if err != nil {
		return nil, err
	}
	switch tag {
	case tagBlank:
		return nil, nil
	case tagText:
		return readText(reader)
	case tagNumber:
		text, err := readText(reader)
		return Number(text), err
	case tagTime:
		seconds, err := binary.ReadVarint(reader)
		return time.Unix(seconds, 0).UTC(), err
	}
	return nil, errors.New("unknown tag")
}

func readText(reader *bufio.Reader) (string, error) {
	length, err := binary.ReadUvarint(reader)
	if err != nil {
		return "", err
	}
	text := make([]byte, length)
	_, err = io.ReadFull(reader, text)
	return string(text), err
}
