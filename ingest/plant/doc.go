// Package plant reads plant.toml: what a plant says about itself, its pay rules, its
// stations and how its files are to be read. A missing key has its stated default; an
// unknown or wrong one is an error with its line.
//
// Pipeline: read first by every command; ingest, sql/warehouse and reports get the values.
//
// It must not know: the warehouse, the feeds' columns, or any report.
package plant
