package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/sql/warehouse"
)

// TestDiskFull imports a file into a plant on a disk that has no room for what is written on
// the way, none for the file's copy, and none for its rows: the message is plain and the
// warehouse as it was.
func TestDiskFull(t *testing.T) {
	plant := newTestPlant(t, testSettings, map[string]string{"jobs": "job,price_usd\nJ1,100\n"})
	var rows strings.Builder
	// For the blank line the file is framed, and what is written on the way has no such blanks.
	rows.WriteString("job,price_usd,description\n\n")
	for i := range 20_000 {
		// The blanks take room in the copy alone.
		fmt.Fprintf(&rows, "K%d,1,%s%d%s\n", i, strings.Repeat("x", i%50), i*7919, strings.Repeat(" ", 100))
	}
	file := filepath.Join(t.TempDir(), "jobs-2.csv")
	if err := os.WriteFile(file, []byte(rows.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(filepath.Join(plant.dir, warehouse.FileName))
	if err != nil {
		t.Fatal(err)
	}
	program, err := exec.LookPath("small-disk")
	if err != nil {
		t.Fatal(err)
	}
	const hint = "hint: make room and run the same again: the warehouse is as it was before, or has all of it\n"
	for _, c := range []struct {
		name string
		room int // bytes besides the warehouse
		want string
	}{
		{"no room on the way", 200 << 10, "the disk is full, or no file may grow further (DISK/mill/.unfinished-1/trusstally-1.csv) [disk-full]\n" + hint},
		{"no room for the copy", rows.Len() * 2 / 3, "the disk is full, or no file may grow further (DISK/mill/archive/.unfinished-1) [disk-full]\n" + hint},
		{"no room for the rows", rows.Len() + 200<<10, "the disk is full, or no file may grow further [disk-full]\n" + hint},
	} {
		t.Run(c.name, func(t *testing.T) {
			command := exec.Command(program, plant.dir, fmt.Sprint(info.Size()+int64(c.room)), file, "SELECT job FROM jobs")
			command.SysProcAttr = &syscall.SysProcAttr{
				Cloneflags:  syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
				UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
				GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}},
			}
			var stdout, stderr bytes.Buffer
			command.Stdout, command.Stderr = &stdout, &stderr
			err := command.Run()
			if errors.Is(err, os.ErrPermission) || strings.Contains(stderr.String(), "operation not permitted") {
				t.Skip("no disk can be made here; the script full.txt limits files instead")
			}
			if err != nil {
				t.Fatalf("%v\n%s", err, stderr.String())
			}
			if diff := cmp.Diff("exit 1\njob\nJ1\nexit 0\n", stdout.String()); diff != "" {
				t.Errorf("stdout (-want +got):\n%s", diff)
			}
			got := fileNumber.ReplaceAllString(diskFolder.ReplaceAllString(stderr.String(), "DISK"), "${1}1")
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("stderr (-want +got):\n%s", diff)
			}
		})
	}
}

var (
	diskFolder = regexp.MustCompile(`[^ (]*trusstally-disk-[0-9]+`)
	fileNumber = regexp.MustCompile("(" + regexp.QuoteMeta(warehouse.UnfinishedPrefix) + "|/trusstally-)[0-9]+")
)
