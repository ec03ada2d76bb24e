-- Records as they are listed, and the ledger: entries are only ever added.
create table record (
  id       varchar(80) primary key,
  name     text not null,
  maker    text not null,
  category text not null,
  edition  integer not null
);
create table entry (
  id         varchar(36) primary key,
  record     varchar(80) not null references record (id),
  seq        integer not null,
  at         text not null,
  by_whom    text,
  kind       text not null,
  body       text not null,
  supersedes varchar(36) references entry (id),
  unique (record, seq)
);
