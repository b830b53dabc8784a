// Package template writes what a plant without exports fills in: for each feed a workbook
// and a CSV file with its headings.
//
// Pipeline: beside landing. It reads the declarations of package ingest, so that a file
// filled in by its notes is one that landing takes as it is; `new` writes the files.
//
// It must not know: how a file is landed, the warehouse, or a plant's settings beyond the
// codes of its stations.
package template
