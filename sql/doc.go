// Package sqlfiles embeds the SQL of the product: schema, ledgers, checks, reports, the
// levels of explain and the findings of the front sheets.
//
// Pipeline: it carries text and nothing else. Only sql/warehouse imports it.
//
// It must not know: what any statement means, or that a database exists.
package sqlfiles
