-- What the bench adds: files of photos, accounts with their sessions and keys, and the audit. Secrets are hashes.
create table photo (
  sha256      varchar(64) primary key,
  media_type  text not null,
  width       integer,
  height      integer,
  orientation integer,
  taken       text,
  size        bigint not null,
  name        text
);
create table account (
  name     varchar(80) primary key,
  hash     text not null,
  role     varchar(20) not null,
  made     varchar(40) not null,
  disabled varchar(40)
);
create table session (
  token   varchar(64) primary key,
  account varchar(80) not null references account (name),
  expires varchar(40) not null,
  csrf    text not null
);
create table upload_key (
  key     varchar(64) primary key,
  record  varchar(80) not null references record (id),
  by_whom text,
  expires varchar(40) not null,
  used    varchar(40)
);
create table attempt (
  who varchar(200) not null,
  at  varchar(40) not null
);
create index attempt_by on attempt (who, at);
create table event (
  id      varchar(36) primary key,
  at      varchar(40) not null,
  by_whom text,
  what    varchar(80) not null,
  about   text not null
);
