-- Where the file of each import lies.
-- grain: one import
SELECT import_id, feed, file_name, sha256, archive_name FROM imports ORDER BY import_id;
