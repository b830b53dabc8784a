-- The first issue that a renewed return goes back to: those before it need not be looked at.
SET VARIABLE first_returned = (SELECT coalesce(min(out_id), kept_board_moves) FROM steps.return_sources WHERE in_id > kept_board_moves);
