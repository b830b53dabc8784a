package main

// The command line: one file per command, and the only place that knows every package.
//
// Pipeline: it wires ingest → sql/warehouse → reports, and decides what is printed where
// and with which exit code.
//
// It must not know: how a file is read, a figure computed or a cell styled.
