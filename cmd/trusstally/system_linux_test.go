package main

import (
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"strconv"
	"syscall"

	"github.com/rogpeppe/go-internal/testscript"
)

// systemPrograms are trusstally on systems that refuse it something.
func systemPrograms() map[string]func() {
	return map[string]func(){"small-files": smallFiles, "plain-user": plainUser, "small-disk": smallDisk}
}

// systemCommands are what scripts can make besides files, folders and links: pipe FILE.
func systemCommands() map[string]func(ts *testscript.TestScript, neg bool, args []string) {
	return map[string]func(ts *testscript.TestScript, neg bool, args []string){
		"pipe": func(ts *testscript.TestScript, _ bool, args []string) {
			ts.Check(syscall.Mkfifo(ts.MkAbs(args[0]), 0o600))
		},
	}
}

// smallFiles is trusstally where no file may grow beyond the bytes of the first argument: to
// a program much the same as a disk that is full.
func smallFiles() {
	most, err := strconv.ParseUint(os.Args[1], 10, 64)
	failWith(err)
	signal.Ignore(syscall.SIGXFSZ)
	failWith(syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: most, Max: most}))
	os.Args = append(os.Args[:1], os.Args[2:]...)
	main()
}

// The capabilities by which root reads and writes what permissions forbid (capabilities(7)).
const (
	dropBounding = 24 // PR_CAPBSET_DROP
	overrideAll  = 1  // CAP_DAC_OVERRIDE
	overrideRead = 2  // CAP_DAC_READ_SEARCH
)

// plainUser is trusstally as one to whom permissions apply, also where root runs the tests.
func plainUser() {
	runtime.LockOSThread()
	if os.Geteuid() == 0 {
		for _, capability := range []uintptr{overrideAll, overrideRead} {
			if _, _, failed := syscall.RawSyscall(syscall.SYS_PRCTL, dropBounding, capability, 0); failed != 0 {
				failWith(failed)
			}
		}
	}
	program, err := exec.LookPath(programName)
	failWith(err)
	failWith(syscall.Exec(program, append([]string{programName}, os.Args[1:]...), os.Environ()))
}

// smallDisk is two commands of trusstally, over a plant that was copied to a disk of so many
// bytes, which this process alone sees: small-disk PLANT BYTES FILE SELECT imports the file
// and then runs the query.
func smallDisk() {
	plant, size, file, query := os.Args[1], os.Args[2], os.Args[3], os.Args[4]
	disk, err := os.MkdirTemp("", "trusstally-disk-")
	failWith(err)
	failWith(syscall.Mount("", "/", "", syscall.MS_PRIVATE|syscall.MS_REC, ""))
	failWith(syscall.Mount("tmpfs", disk, "tmpfs", 0, "size="+size))
	failWith(os.CopyFS(disk+"/mill", os.DirFS(plant)))
	code := Run([]string{"import", "--plant", disk + "/mill", file}, os.Stdin, os.Stdout, os.Stderr)
	fmt.Println("exit", code)
	code = Run([]string{"query", "--plant", disk + "/mill", query}, os.Stdin, os.Stdout, os.Stderr)
	fmt.Println("exit", code)
	failWith(syscall.Unmount(disk, syscall.MNT_DETACH))
	failWith(os.Remove(disk))
}

func failWith(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(exitOurs)
	}
}
