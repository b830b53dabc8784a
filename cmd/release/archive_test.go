package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var packed = []packedFile{
	{name: "trusstally", data: []byte("program"), program: true},
	{name: "LICENSE", data: []byte("licence")},
	{name: "man/trusstally.1", data: []byte("manual")},
}

var packedWhen = time.Date(2026, 11, 25, 9, 12, 4, 0, time.UTC)

// listing is name, mode, time and content of each file, in the archive's order.
var listing = []string{
	"t/LICENSE 644 2026-11-25T09:12:04Z licence",
	"t/man/trusstally.1 644 2026-11-25T09:12:04Z manual",
	"t/trusstally 755 2026-11-25T09:12:04Z program",
}

func listed(name string, mode os.FileMode, when time.Time, content io.Reader) (string, error) {
	data, err := io.ReadAll(content)
	return fmt.Sprintf("%s %o %s %s", name, mode.Perm(), when.UTC().Format(time.RFC3339), data), err
}

func TestTarGzip(t *testing.T) {
	archive := bothOrders(t, tarGzip)
	compressed, err := gzip.NewReader(bytes.NewReader(archive))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for reader := tar.NewReader(compressed); ; {
		header, err := reader.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if header.Uname != "" || header.Gname != "" || header.Uid != 0 || header.Gid != 0 {
			t.Errorf("%s belongs to somebody", header.Name)
		}
		line, err := listed(header.Name, header.FileInfo().Mode(), header.ModTime, reader)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, line)
	}
	if diff := cmp.Diff(listing, got); diff != "" {
		t.Error(diff)
	}
}

func TestZipped(t *testing.T) {
	archive := bothOrders(t, zipped)
	reader, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, file := range reader.File {
		content, err := file.Open()
		if err != nil {
			t.Fatal(err)
		}
		line, err := listed(file.Name, file.Mode(), file.Modified, content)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, line)
	}
	if diff := cmp.Diff(listing, got); diff != "" {
		t.Error(diff)
	}
}

// bothOrders packs the files as they stand and the other way round: the bytes are the same.
func bothOrders(t *testing.T, pack archiver) []byte {
	t.Helper()
	one, err := pack("t", packed, packedWhen)
	if err != nil {
		t.Fatal(err)
	}
	other, err := pack("t", []packedFile{packed[2], packed[1], packed[0]}, packedWhen.In(time.FixedZone("there", -6*3600)))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(one, other) {
		t.Error("the order of the files or the zone of their time changes the archive")
	}
	return one
}

func TestSums(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{"b", "a"} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte("abc"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := sumsOf(folder, []string{"b", "a"})
	if err != nil {
		t.Fatal(err)
	}
	// SHA-256 of "abc": FIPS 180-4, the example of its one-block message.
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if want := abc + "  a\n" + abc + "  b\n"; string(got) != want {
		t.Errorf("%s, want %s", got, want)
	}
}
