drop table agreement;
