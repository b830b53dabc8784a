package main

// The code words of what can go wrong on the command line. A code word is stable: people
// search for it, and scripts match it. Its remark is its meaning in `help errors`.
const (
	codeUsage         = "usage"          // the command was not called as it is meant to be
	codeInternal      = "internal"       // a fault of the program, not of the data
	codeNoPermission  = "no-permission"  // the system does not let us read or write a file
	codeDiskFull      = "disk-full"      // the disk is full, or a file may not grow further
	codeCannotWrite   = "cannot-write"   // no folder can be made there
	codeFileInUse     = "file-in-use"    // another program has the file open and keeps others out
	codePlantExists   = "plant-exists"   // the folder holds a plant already
	codeNoWeek        = "no-week"        // no week that has ended holds a punch or a completion
	codeNotOneSheet   = "not-one-sheet"  // a book has several sheets, and the format holds one
	codeNotOver       = "not-over"       // a month that isn't over can't be closed
	codeUnbalanced    = "unbalanced"     // a month can't be closed while a balance doesn't balance
	codeUnknownFormat = "unknown-format" // no format of that name
	codeUnknownCode   = "unknown-code"   // no code word of that name
	codeUnknownJob    = "unknown-job"    // no job of that name
	codeUnknownClass  = "unknown-class"  // a job has no figure and no class of dollars of that name
	codeUnknownTopic  = "unknown-topic"  // help has neither a command nor a topic of that name
	codeFileExists    = "file-exists"    // a file stands where one is to be written
	codeLedgersDiffer = "ledgers-differ" // a ledger in the warehouse is not what the feeds give
	codeBackupDiffers = "backup-differs" // a backup that was read back is not what was written
	codeHookFailed    = "hook-failed"    // a warning: the command that plant.toml names for a failed run did not succeed
	codeStaleLedgers  = "stale-ledgers"  // a warning: plant.toml or the program has changed since the ledgers were built
	codeSamePlant     = "same-plant"     // two folders of a group are one plant, or their plants have one name
	codeOtherWeek     = "other-week"     // the plants of a group start their workweeks on different days
	codeInsidePlant   = "inside-plant"   // a group's books can't go into a plant's folder
	codeStalePlant    = "stale-plant"    // a plant is left out of a group: plant.toml or the program has changed since its ledgers were built
	codeEmptyGroup    = "empty-group"    // every plant of a group is left out
)
