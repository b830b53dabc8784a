//go:build !unix

package warehouse

// onlyOwner does nothing where file modes don't exist: the folder's access list rules.
func onlyOwner() func() { return func() {} }

// closeToOthers does nothing there either.
func closeToOthers(string) error { return nil }
