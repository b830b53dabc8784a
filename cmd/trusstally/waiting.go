package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

// betweenTries is how long a command sleeps before it looks again whether the warehouse is
// free.
const betweenTries = 100 * time.Millisecond

// openWriter opens the plant's warehouse for writing, once no other process has it.
func (p *program) openWriter(ctx context.Context, f *folder) (*warehouse.Warehouse, error) {
	return waitFor(p, func() (*warehouse.Warehouse, error) { return warehouse.Open(ctx, f.warehouse()) })
}

// openLocked opens the warehouse read-only and locked down, once no other process writes it.
// prepare runs before the lock.
func (p *program) openLocked(ctx context.Context, f *folder, prepare ...string) (*warehouse.Warehouse, error) {
	return waitFor(p, func() (*warehouse.Warehouse, error) { return warehouse.OpenLocked(ctx, f.warehouse(), prepare...) })
}

// openForQuery opens the warehouse for the SELECT of a reader, once no other process writes it.
func (p *program) openForQuery(ctx context.Context, f *folder, wages bool) (*warehouse.Warehouse, error) {
	return waitFor(p, func() (*warehouse.Warehouse, error) {
		return warehouse.OpenForQuery(ctx, f.warehouse(), wages, f.limits())
	})
}

// takeLock makes this command the only one that changes the plant, until the lock is
// released: the warehouse, inbox/, archive/, rejects/ and books/.
func (p *program) takeLock(f *folder) (*warehouse.Lock, error) {
	return waitFor(p, func() (*warehouse.Lock, error) { return warehouse.TakeLock(f.warehouse(), p.now()) })
}

// waitFor tries to open until it succeeds, fails for another reason than another process, or
// --wait is over.
func waitFor[T any](p *program, open func() (T, error)) (T, error) {
	if p.opening != nil {
		p.opening()
	}
	until := time.Now().Add(time.Duration(p.waitSeconds) * time.Second) // the machine's clock, never the data's
	bar := p.progress(-1, "another run has the warehouse: waiting")
	for tried := 0; ; tried++ {
		opened, err := open()
		var problems problem.List
		if !errors.As(err, &problems) || problems[0].Code != warehouse.CodeWarehouseLocked {
			if tried > 0 {
				bar.Finish()
			}
			return opened, err
		}
		if !time.Now().Before(until) {
			if p.waitSeconds > 0 {
				problems[0].What += fmt.Sprintf("; waited %s for it", counted(int64(p.waitSeconds), "second"))
			}
			return opened, err
		}
		bar.Add(1)
		time.Sleep(betweenTries)
	}
}

// lockedFolder opens the plant's folder and takes its lock, which the caller releases.
func (p *program) lockedFolder() (*folder, *warehouse.Lock, error) {
	f, err := p.openFolder()
	if err != nil {
		return nil, nil, err
	}
	lock, err := p.takeLock(f)
	return f, lock, err
}
