// Command release packs what was built into archives for people without a compiler. With
// each program go the licences of all that is linked into it and a bill of materials
// (CycloneDX 1.6, JSON); beside the archives lie their SHA-256 sums. .ci/release calls it.
//
// Pipeline: it stands after the compiler and beside trusstally, of which it links nothing.
//
// It must not know: how anything is compiled, or what the program does. The same built
// files and the same commit give the same bytes, on any machine, under any name.
package main
