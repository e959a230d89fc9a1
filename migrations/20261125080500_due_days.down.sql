drop table due;
