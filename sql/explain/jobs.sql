-- grain: one job of the feed
SELECT job FROM jobs ORDER BY job;
