drop table inspection_link;
