package reports

// Version is the release that wrote a book; it is on the front sheet and part of the bytes.
const Version = "0.1.0"
