//go:build !linux

package main

import "github.com/rogpeppe/go-internal/testscript"

// systemPrograms and systemCommands are for Linux; scripts that need them are skipped here.
func systemPrograms() map[string]func() { return nil }

func systemCommands() map[string]func(ts *testscript.TestScript, neg bool, args []string) { return nil }
