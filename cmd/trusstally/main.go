// Command trusstally reads a truss plant's weekly records and writes its books.
package main

import "os"

func main() {
	os.Exit(Run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
