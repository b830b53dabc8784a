package warehouse

import "strings"

// What a reader's SELECT may name: everything else is refused, so that a table that a later
// version adds, or a function of a later engine, is closed until somebody has looked at it.

// openTables may be read by anybody who may read the warehouse.
var openTables = wordsOf(`
accounts board_ledger changes closed_accruals closed_boards closed_budgets closed_job_bases closed_left_jobs closed_months
closed_positions closed_run_days completions counts cut_pieces day_parts days
deliveries exceptions gaps grade_order imports incidents inspections invoices job_costs jobs lumber_prices lumber_usage
minute_ledger opening_wip overheads packs purchase_orders receipts refused_rows rejects settings stations stoppages tie_outs trusses
workweeks zone_offsets timecards dollar_ledger
history.completions history.counts history.cut_pieces history.deliveries history.inspections history.invoices
history.job_costs history.jobs history.lumber_prices history.lumber_usage history.opening_wip history.overheads
history.purchase_orders history.receipts history.stoppages history.trusses
steps.allotment_weights steps.average_costs steps.average_pools steps.batch_waste steps.backflush_moves steps.backflush_needs
steps.backflush_parts steps.design_yields steps.job_bases steps.overhead_budgets steps.row_order steps.run_bases
steps.run_days steps.truss_wood steps.unplanned_units steps.board_matches steps.board_moves steps.board_rows steps.built_days
steps.day_weeks steps.clock_readings steps.closed_unshipped steps.crew_gaps steps.crew_stretches steps.cut_boards steps.cut_parts steps.cut_rows
steps.cut_units steps.first_count steps.issued_boards steps.delivered steps.double_punches steps.failed_runs steps.first_pass steps.first_quotes
steps.floor_events steps.followed_crew_days steps.inspected steps.inspection_weeks steps.issue_costs steps.issue_parts
steps.job_lumber steps.job_minutes steps.job_people steps.job_wood steps.last_landed steps.layer_costs
steps.layer_credits steps.left_days steps.length_prices steps.lumber_postings steps.minute_rows steps.order_prices
steps.overtime_weeks steps.paired_costs steps.plate_postings steps.refused_rows steps.punch_days steps.punch_rounding
steps.repeated_hours steps.return_sources steps.revenue_postings steps.run_phase_days steps.run_phases steps.run_rows
steps.run_seconds steps.runs_outside steps.settled_clock steps.shift_bounds steps.slices steps.stoppage_days
steps.substitutions steps.table_runs steps.truss_parts steps.truss_values steps.unknown_names steps.usage_pairs steps.usage_shares
steps.usage_units steps.week_ends steps.whereabouts steps.yield_units steps.yields`)

// wageTables hold pay: each row is, or can be turned into, the dollars of one employee.
var wageTables = wordsOf(`
wages pay_weeks other_pay payroll closed_dollars closed_job_stock
history.wages history.timecards history.other_pay history.payroll
steps.wage_versions steps.punches steps.other_pay_rows steps.other_pay_weeks steps.salary_weeks steps.salary_retro
steps.pay_rows steps.pay_totals steps.spread_premiums steps.retro_weeks steps.labour_postings steps.premium_postings
steps.other_pay_postings steps.cost_postings steps.postings_now steps.punch_faults steps.pay_spans
steps.register_differences steps.last_positions steps.job_days steps.job_class_days`)

// closedTables are read by the program alone: its own state, and who was in an incident.
var closedTables = wordsOf(`schema_versions cut_solutions import_bases row_places history.incidents steps.opening_items steps.opening_jobs steps.opening_runs`)

// allowedFunctions are the table functions that a reader's SELECT may call.
var allowedFunctions = wordsOf(`
range generate_series unnest job_position job_forecast job_bridge bridged_jobs share_delivered parts_to_cut boards_cut job_stock journal_lines left_jobs received_not_invoiced trusses_without_list job_basis`)

// wageFunctions add up pay of the plant, or a job's premium by itself, which may be one or two
// people's.
var wageFunctions = wordsOf(`journal_lines job_stock`)

// addedUpInBooks are of those the ones that are the stuff of every book: what a sheet adds them
// up to is looked at there, and holds no wages by itself.
var addedUpInBooks = wordsOf(`steps.job_days steps.job_class_days closed_job_stock job_stock`)

// allowedScalars are the other functions and operators: they work on their arguments alone.
// Left out are those that look at the engine, its files, its settings or its statistics of a
// column (stats), that wait, write or run SQL, and random ones.
var allowedScalars = wordsOf(`
!__postfix !~~ !~~* % & && * ** + - ->> / // <-> << <=> <@ >> @ @> ^ ^@ | || ~ ~~ ~~* ~~~
board_feet cents_to_usd feet_inches nearest nominal_quarters rounded_quotient seconds_between seconds_to_hours
seconds_to_min section_16ths share_of share_of_positive usd_to_cents wood wood_to_bf
abs acos acosh add age aggregate any_value apply approx_count_distinct approx_quantile arbitrary arg_max arg_max_null
arg_min arg_min_null argmax argmin array_agg array_aggr array_aggregate array_append array_apply array_cat array_concat
array_contains array_cosine_distance array_cosine_similarity array_cross_product array_distance array_distinct
array_dot_product array_extract array_filter array_grade_up array_has array_has_all array_has_any array_indexof
array_inner_product array_intersect array_length array_negative_dot_product array_negative_inner_product array_pop_back
array_pop_front array_position array_prepend array_push_back array_push_front array_reduce array_reverse
array_reverse_sort array_select array_slice array_sort array_to_json array_to_string array_to_string_comma_default
array_transform array_unique array_value array_where array_zip ascii asin asinh atan atan2 atanh avg bar bit_and
bit_count bit_length bit_or bit_position bit_xor bitstring bool_and bool_or cardinality cbrt ceil ceiling century
char_length character_length chr concat concat_ws contains corr cos cosh cot count count_if count_star countif covar_pop
covar_samp cume_dist damerau_levenshtein date_add date_diff date_part date_sub date_trunc datediff datepart datesub
datetrunc day dayname dayofmonth dayofweek dayofyear days_in_month decade degrees dense_rank divide editdist3 element_at
ends_with entropy epoch epoch_ms epoch_ns epoch_us era even exp factorial favg fdiv fill filter first first_value
flatten floor fmod format format_bytes formatreadabledecimalsize formatreadablesize fsum gamma gcd geomean
geometric_mean get_bit grade_up greatest greatest_common_divisor group_concat hash hex histogram histogram_exact hour
ilike_escape instr isfinite isinf isnan isodow isoyear jaccard jaro_similarity jaro_winkler_similarity json json_array
json_array_length json_contains json_exists json_extract json_extract_path json_extract_path_text json_extract_string
json_group_array json_group_object json_keys json_object json_quote json_type json_valid json_value julian kahan_sum
kurtosis kurtosis_pop lag last last_day last_value lcase lcm lead least least_common_multiple left left_grapheme len
length length_grapheme levenshtein lgamma like_escape list list_aggr list_aggregate list_any_value list_append
list_apply list_avg list_bit_and list_bit_or list_bit_xor list_bool_and list_bool_or list_cat list_concat list_contains
list_cosine_distance list_cosine_similarity list_count list_distance list_distinct list_dot_product list_element
list_entropy list_extract list_filter list_first list_grade_up list_has list_has_all list_has_any list_histogram
list_indexof list_inner_product list_intersect list_kurtosis list_kurtosis_pop list_last list_mad list_max list_median
list_min list_mode list_negative_dot_product list_negative_inner_product list_pack list_position list_prepend
list_product list_reduce list_reverse list_reverse_sort list_select list_sem list_skewness list_slice list_sort
list_stddev_pop list_stddev_samp list_string_agg list_sum list_transform list_unique list_value list_var_pop
list_var_samp list_where list_zip listagg ln log log10 log2 lower lpad ltrim mad make_date make_time make_timestamp
make_timestamp_ms make_timestamp_ns make_timestamptz map map_concat map_contains map_contains_entry map_contains_value
map_entries map_extract map_extract_value map_from_entries map_keys map_values max max_by md5 mean median microsecond
millennium millisecond min min_by minute mismatches mod mode month monthname multiply nanosecond nextafter
normalized_interval not_ilike_escape not_like_escape nth_value ntile nullif octet_length ord percent_rank pi pivot
position pow power prefix printf product quantile quantile_cont quantile_disc quarter radians rank rank_dense reduce
regexp_escape regexp_extract regexp_extract_all regexp_full_match regexp_matches regexp_replace regexp_split_to_array
regexp_split_to_table regr_avgx regr_avgy regr_count regr_intercept regr_r2 regr_slope regr_sxx regr_sxy regr_syy repeat
replace reverse right right_grapheme round round_even roundbankers row row_number row_to_json rpad rtrim second sem
set_bit sha256 sign signbit sin sinh skewness split split_part sqrt starts_with stddev stddev_pop stddev_samp str_split
str_split_regex strftime string_agg string_split string_split_regex string_to_array strip_accents strlen strpos strptime
struct_concat struct_contains struct_extract struct_extract_at struct_has struct_indexof struct_insert struct_keys
struct_pack struct_position struct_update struct_values substr substring substring_grapheme subtract suffix sum
sum_no_overflow sumkahan switch tan tanh time_bucket timezone timezone_hour timezone_minute to_centuries to_days
to_decades to_hours to_json to_microseconds to_millennia to_milliseconds to_minutes to_months to_quarters to_seconds
to_timestamp to_weeks to_years translate trim trunc try_strptime typeof ucase unicode union_extract union_tag
union_value unnest unpivot_list upper var_pop var_samp variance wavg week weekday weekofyear weighted_avg xor year
yearweek`)

// clockScalars tell today: a query may ask, a sheet may not, since the same data must give
// the same book whenever it is written. The first four are also written without brackets.
var clockScalars = wordsOf(`
current_date current_timestamp localtime localtimestamp current_time now today get_current_timestamp get_current_time
current_localtime current_localtimestamp transaction_timestamp ago`)

// wageColumns are pay wherever they stand.
var wageColumns = wordsOf(`rate_usd rate_e4 overtime_bill_rate_usd salary_hours owed_rate_e4 overtime_bill_e4 owed_bill_e4`)

// wordsOf is the set of the words of a text.
func wordsOf(text string) map[string]bool {
	set := map[string]bool{}
	for _, word := range strings.Fields(text) {
		set[word] = true
	}
	return set
}
