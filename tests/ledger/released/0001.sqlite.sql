BEGIN TRANSACTION;
CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE events (
	seq INTEGER NOT NULL, 
	kind VARCHAR(16) NOT NULL, 
	piece_key VARCHAR(160), 
	piece VARCHAR(80), 
	system VARCHAR(80), 
	at DATETIME NOT NULL, 
	payload JSON NOT NULL, 
	recorded_at DATETIME NOT NULL, 
	recorded_by VARCHAR(80) NOT NULL, 
	batch VARCHAR(120) NOT NULL, 
	PRIMARY KEY (seq)
);
INSERT INTO "events" VALUES(1,'acquired','e1','E1',NULL,'2026-01-10 00:00:00.000000','{"acquired_on":"2026-01-10","defaults_used":["form","height_mm"],"form":"branching","height_mm":72.0,"length_mm":80.0,"note":"mother","strain":"Ember","system":"north","tank":"n1","taxon":"Acropora sp.","width_mm":70.0}','2027-01-15 09:30:00.000000','import','import 7c7190611519c56c');
INSERT INTO "events" VALUES(2,'cut','e2','E2',NULL,'2026-11-02 00:00:00.000000','{"cut_on":"2026-11-02","defaults_used":["form","width_mm","height_mm"],"form":"branching","height_mm":36.0,"length_mm":40.0,"note":"two\nlines","parent":"E1","strain":"Ember","system":"north","tank":"n1","taxon":"Acropora sp.","width_mm":40.0}','2027-01-15 09:30:00.000000','import','import 7c7190611519c56c');
INSERT INTO "events" VALUES(3,'acquired','strasse','Straße',NULL,'2027-01-10 00:00:00.000000','{"defaults_used":["form","width_mm","height_mm"],"form":"plating","height_mm":21.0,"length_mm":60.0,"note":"=bites","strain":"Slate","system":"south","tank":"s1","taxon":"Pavona sp.","width_mm":60.0}','2027-01-15 09:30:00.000000','import','import 7c7190611519c56c');
INSERT INTO "events" VALUES(4,'acquired','l1','L1',NULL,'2027-01-10 00:00:00.000000','{"defaults_used":["form","width_mm","height_mm"],"form":"plating","height_mm":10.5,"length_mm":30.0,"strain":"Slate","system":"south","tank":"s1","taxon":"Pavona sp.","width_mm":30.0}','2027-01-15 09:30:00.000000','import','import 7c7190611519c56c');
INSERT INTO "events" VALUES(5,'water',NULL,NULL,'north','2027-01-02 00:00:00.000000','{"alkalinity_meq_l":3.1,"calcium_mg_l":null,"magnesium_mg_l":null,"nitrate_mg_l":null,"ph":null,"phosphate_mg_l":null,"salinity":35.0,"temperature_c":25.5}','2027-01-15 09:30:00.000000','import','import 7c7190611519c56c');
INSERT INTO "events" VALUES(6,'inspected','e1','E1',NULL,'2027-01-03 00:00:00.000000','{"note":"bites","pest":"acropora_flatworm","result":"finding"}','2027-01-15 09:30:00.000000','import','import 7c7190611519c56c');
INSERT INTO "events" VALUES(7,'moved','e1','E1',NULL,'2027-01-15 00:00:00.000000','{"system":"south","tank":"s1"}','2027-01-15 09:30:00.000000','import','import 8948dcc7e9d27744');
INSERT INTO "events" VALUES(8,'measured','e1','E1',NULL,'2027-01-15 00:00:00.000000','{"length_mm":95.0}','2027-01-15 09:30:00.000000','import','import 8948dcc7e9d27744');
INSERT INTO "events" VALUES(9,'reserved','e1','E1',NULL,'2027-01-15 00:00:00.000000','{"promised_to":"library"}','2027-01-15 09:30:00.000000','import','import 8948dcc7e9d27744');
INSERT INTO "events" VALUES(10,'lost','l1','L1',NULL,'2027-01-15 00:00:00.000000','{}','2027-01-15 09:30:00.000000','import','import 8948dcc7e9d27744');
CREATE TABLE pieces (
	"key" VARCHAR(160) NOT NULL, 
	version INTEGER NOT NULL, 
	standing VARCHAR(8) NOT NULL, 
	arrived_on DATE, 
	piece VARCHAR(80) NOT NULL, 
	strain VARCHAR(80) NOT NULL, 
	taxon VARCHAR(120) NOT NULL, 
	form VARCHAR(16) NOT NULL, 
	system VARCHAR(80) NOT NULL, 
	tank VARCHAR(80) NOT NULL, 
	length_mm FLOAT NOT NULL, 
	width_mm FLOAT NOT NULL, 
	height_mm FLOAT NOT NULL, 
	parent VARCHAR(80), 
	spot VARCHAR(80), 
	heads INTEGER, 
	mounted_on VARCHAR(200), 
	cut_on DATE, 
	acquired_on DATE, 
	source VARCHAR(200), 
	permit VARCHAR(200), 
	par FLOAT, 
	flow_cm_s FLOAT, 
	note TEXT, 
	promised_to VARCHAR(200), 
	defaults_used VARCHAR(200) NOT NULL, 
	PRIMARY KEY ("key")
);
INSERT INTO "pieces" VALUES('e1',9,'alive','2027-01-15','E1','Ember','Acropora sp.','branching','south','s1',95.0,70.0,72.0,NULL,NULL,NULL,NULL,NULL,'2026-01-10',NULL,NULL,NULL,NULL,'mother','library','form height_mm');
INSERT INTO "pieces" VALUES('e2',2,'alive',NULL,'E2','Ember','Acropora sp.','branching','north','n1',40.0,40.0,36.0,'E1',NULL,NULL,NULL,'2026-11-02',NULL,NULL,NULL,NULL,NULL,'two
lines',NULL,'form width_mm height_mm');
INSERT INTO "pieces" VALUES('l1',10,'lost',NULL,'L1','Slate','Pavona sp.','plating','south','s1',30.0,30.0,10.5,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'form width_mm height_mm');
INSERT INTO "pieces" VALUES('strasse',3,'alive',NULL,'Straße','Slate','Pavona sp.','plating','south','s1',60.0,60.0,21.0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'=bites',NULL,'form width_mm height_mm');
CREATE INDEX events_by_kind ON events (kind, seq);
CREATE INDEX events_by_piece ON events (piece_key, seq);
CREATE INDEX pieces_by_system ON pieces (system, tank);
CREATE INDEX pieces_by_parent ON pieces (parent);
CREATE INDEX pieces_by_strain ON pieces (strain);
CREATE TRIGGER events_are_not_edited BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are never edited'); END;
CREATE TRIGGER events_are_not_removed BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are never removed'); END;
COMMIT;
