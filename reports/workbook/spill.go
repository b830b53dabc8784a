package workbook

import (
	"bytes"
	"errors"
	"io"
	"os"
)

// spillLimit is how many bytes a spill holds in memory.
const spillLimit = 4 << 20

// spill is bytes that are written once and then read, as often as needed: in memory up to
// spillLimit, beyond that in a temporary file that only this user can read.
type spill struct {
	memory bytes.Buffer // what is not in the file yet
	file   *os.File     // nil until the limit is reached
	named  bool         // the file still has a name, which close must take away
	size   int64
}

func (s *spill) Write(data []byte) (int, error) {
	s.memory.Write(data)
	s.size += int64(len(data))
	if s.memory.Len() < spillLimit {
		return len(data), nil
	}
	if s.file == nil {
		file, err := os.CreateTemp("", "workbook-")
		if err != nil {
			return 0, err
		}
		// Without a name the file is gone with the process, however that ends. Where an open
		// file can't lose its name, close takes it away.
		s.file, s.named = file, os.Remove(file.Name()) != nil
	}
	return len(data), s.flush()
}

// spilled reads what a spill holds.
type spilled interface {
	io.Reader
	io.ReaderAt
}

func (s *spill) flush() error {
	if s.file == nil || s.memory.Len() == 0 {
		return nil // readers may flush side by side
	}
	_, err := s.memory.WriteTo(s.file)
	return err
}

// reader starts at the first byte, and can read from any. No more may be written after it.
func (s *spill) reader() (spilled, error) {
	if s.file == nil {
		return bytes.NewReader(s.memory.Bytes()), nil
	}
	if err := s.flush(); err != nil {
		return nil, err
	}
	return io.NewSectionReader(s.file, 0, s.size), nil
}

func (s *spill) close() error {
	s.memory = bytes.Buffer{}
	if s.file == nil {
		return nil
	}
	err := s.file.Close()
	if s.named {
		err = errors.Join(err, os.Remove(s.file.Name()))
	}
	return err
}
