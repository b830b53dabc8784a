package main

// target is a platform that releases are made for.
type target struct {
	system, processor string
	tags              string   // of the build, as go build takes them
	program           string   // file name of the program
	libraries         []string // files that lie beside it
	ending            string   // of the archive
	archive           archiver
	parts             []string // code in it that is no Go module: names of licences/NAME.txt
}

func (t target) name() string { return t.system + "-" + t.processor }

// targets in the order of their names. The Windows library of the bindings can't be linked
// with the compilers at hand, so there the engine is a library beside the program.
var targets = []target{
	{system: "linux", processor: "amd64", program: "trusstally", ending: ".tar.gz", archive: tarGzip, parts: []string{"engine-parts"}},
	{system: "windows", processor: "amd64", tags: "duckdb_use_lib", program: "trusstally.exe", libraries: []string{"duckdb.dll"}, ending: ".zip",
		archive: zipped, parts: []string{"engine-library", "engine-parts", "mingw-w64-runtime"}},
}
