package main

import "sync"

// sideBySide does the work of each number below n, so many at a time, and returns the first
// error in order of the numbers, whichever came first.
func sideBySide(n, atOnce int, work func(number int) error) error {
	failed := make([]error, n)
	next := make(chan int)
	var workers sync.WaitGroup
	for range min(n, max(1, atOnce)) {
		workers.Add(1)
		go func() {
			defer workers.Done()
			for number := range next {
				failed[number] = work(number)
			}
		}()
	}
	for number := range n {
		next <- number
	}
	close(next)
	workers.Wait()
	for _, err := range failed {
		if err != nil {
			return err
		}
	}
	return nil
}
