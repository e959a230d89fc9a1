drop table export_piece, export_job;
