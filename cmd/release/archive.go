package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// sumsName is the file of the SHA-256 sums, as sha256sum --check reads it.
const sumsName = "SHA256SUMS"

// packedFile is one file of an archive.
type packedFile struct {
	name    string // with forward slashes, below the archive's folder
	data    []byte
	program bool // may be run
}

func (f packedFile) mode() int64 {
	if f.program {
		return 0o755
	}
	return 0o644
}

// archiver packs files into a folder of that name. Neither the order of the files nor who
// packs them, when and where, changes a byte.
type archiver func(folder string, files []packedFile, when time.Time) ([]byte, error)

func inOrder(files []packedFile) []packedFile {
	return slices.SortedFunc(slices.Values(files), func(a, b packedFile) int { return strings.Compare(a.name, b.name) })
}

func tarGzip(folder string, files []packedFile, when time.Time) ([]byte, error) {
	var out bytes.Buffer
	compressed, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	archive := tar.NewWriter(compressed)
	for _, file := range inOrder(files) {
		header := &tar.Header{Typeflag: tar.TypeReg, Name: path.Join(folder, file.name), Size: int64(len(file.data)), Mode: file.mode(), ModTime: when, Format: tar.FormatUSTAR}
		if err := archive.WriteHeader(header); err != nil {
			return nil, err
		}
		if _, err := archive.Write(file.data); err != nil {
			return nil, err
		}
	}
	if err := archive.Close(); err != nil {
		return nil, err
	}
	err = compressed.Close()
	return out.Bytes(), err
}

func zipped(folder string, files []packedFile, when time.Time) ([]byte, error) {
	var out bytes.Buffer
	archive := zip.NewWriter(&out)
	for _, file := range inOrder(files) {
		header := &zip.FileHeader{Name: path.Join(folder, file.name), Method: zip.Deflate, Modified: when.UTC()}
		header.SetMode(os.FileMode(file.mode()))
		entry, err := archive.CreateHeader(header)
		if err != nil {
			return nil, err
		}
		if _, err := entry.Write(file.data); err != nil {
			return nil, err
		}
	}
	err := archive.Close()
	return out.Bytes(), err
}

// sumsOf hashes the files of the folder, in order of their names.
func sumsOf(folder string, names []string) ([]byte, error) {
	var sums bytes.Buffer
	for _, name := range slices.Sorted(slices.Values(names)) {
		data, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(data), name)
	}
	return sums.Bytes(), nil
}
