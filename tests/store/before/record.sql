-- A record of three sittings with the first demo tune, made by version 0.1.0 in October 2026 (e7815e5).
PRAGMA application_id = 1114601539;
PRAGMA user_version = 2;
BEGIN TRANSACTION;
CREATE TABLE card (                  -- what the reviews led to
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        card TEXT NOT NULL,              -- JSON
        due TEXT NOT NULL,               -- UTC, ISO 8601
        PRIMARY KEY (tune, box)
    ) STRICT, WITHOUT ROWID;
CREATE TABLE mistake_day (
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        piece TEXT NOT NULL,
        day TEXT NOT NULL,
        cause TEXT NOT NULL,             -- a cause, or the verdict where nothing explains it
        times INTEGER NOT NULL,
        PRIMARY KEY (tune, box, piece, day, cause)
    ) STRICT, WITHOUT ROWID;
INSERT INTO "mistake_day" VALUES(1,'bc-21','A bar 1','2026-11-29','button-above',1);
INSERT INTO "mistake_day" VALUES(1,'bc-21','A bar 1','2026-11-29','wrong',1);
INSERT INTO "mistake_day" VALUES(1,'bc-21','A bar 2','2026-11-29','button-above',1);
INSERT INTO "mistake_day" VALUES(1,'bc-21','A bar 2','2026-11-29','missed',2);
INSERT INTO "mistake_day" VALUES(1,'bc-21','A bar 2','2026-11-29','other-row',1);
INSERT INTO "mistake_day" VALUES(1,'bc-21','A phrase 1','2026-11-29','button-above',1);
INSERT INTO "mistake_day" VALUES(1,'bc-21','round','2026-11-29','button-above',5);
INSERT INTO "mistake_day" VALUES(1,'bc-21','round','2026-11-29','missed',4);
INSERT INTO "mistake_day" VALUES(1,'bc-21','round','2026-11-29','other-direction',1);
INSERT INTO "mistake_day" VALUES(1,'bc-21','round','2026-11-29','other-row',1);
INSERT INTO "mistake_day" VALUES(1,'bc-21','round','2026-11-29','wrong',1);
CREATE TABLE note_mark (
        round INTEGER NOT NULL REFERENCES round(id) ON DELETE CASCADE,
        seq INTEGER NOT NULL,
        written INTEGER,                 -- index into the round of the tune
        verdict TEXT NOT NULL,
        pitch INTEGER,
        heard_pitch INTEGER,
        late_ms REAL,
        cause TEXT,
        PRIMARY KEY (round, seq)
    ) STRICT, WITHOUT ROWID;
INSERT INTO "note_mark" VALUES(1,0,0,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(1,1,1,'right',66,66,NULL,NULL);
INSERT INTO "note_mark" VALUES(1,2,2,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(2,0,0,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(2,1,1,'right',66,66,NULL,NULL);
INSERT INTO "note_mark" VALUES(2,2,2,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(3,0,0,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(3,1,1,'right',66,66,NULL,NULL);
INSERT INTO "note_mark" VALUES(3,2,2,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(4,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(4,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(4,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(5,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(5,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(5,2,2,'wrong',69,71,0.0,'button-above');
INSERT INTO "note_mark" VALUES(6,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(6,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(6,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(7,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(7,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(7,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(8,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(8,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(8,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(9,0,0,'wrong',69,72,0.0,NULL);
INSERT INTO "note_mark" VALUES(9,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(9,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(10,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(10,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(10,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(11,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(11,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(11,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(12,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(12,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(12,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(13,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(13,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(13,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(14,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(14,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(14,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(15,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(15,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(15,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(16,0,3,'right',71,71,NULL,NULL);
INSERT INTO "note_mark" VALUES(16,1,4,'right',74,74,NULL,NULL);
INSERT INTO "note_mark" VALUES(16,2,5,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(17,0,3,'right',71,71,NULL,NULL);
INSERT INTO "note_mark" VALUES(17,1,4,'right',74,74,NULL,NULL);
INSERT INTO "note_mark" VALUES(17,2,5,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(18,0,3,'right',71,71,NULL,NULL);
INSERT INTO "note_mark" VALUES(18,1,4,'right',74,74,NULL,NULL);
INSERT INTO "note_mark" VALUES(18,2,5,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(19,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(19,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(19,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(20,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(20,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(20,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(21,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(21,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(21,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(22,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(22,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(22,2,5,'missed',69,NULL,NULL,NULL);
INSERT INTO "note_mark" VALUES(23,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(23,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(23,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(24,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(24,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(24,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(25,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(25,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(25,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(26,0,3,'wrong',71,73,0.0,'other-row');
INSERT INTO "note_mark" VALUES(26,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(26,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(27,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(27,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(27,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(28,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(28,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(28,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(29,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(29,1,4,'wrong',74,77,0.0,'button-above');
INSERT INTO "note_mark" VALUES(29,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(30,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(30,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(30,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(31,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(31,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(31,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(32,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(32,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(32,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(33,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(33,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(33,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(34,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(34,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(34,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(35,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(35,1,4,'missed',74,NULL,NULL,NULL);
INSERT INTO "note_mark" VALUES(35,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(36,0,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(36,1,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(36,2,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(37,0,0,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(37,1,1,'right',66,66,NULL,NULL);
INSERT INTO "note_mark" VALUES(37,2,2,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(37,3,3,'right',71,71,NULL,NULL);
INSERT INTO "note_mark" VALUES(37,4,4,'right',74,74,NULL,NULL);
INSERT INTO "note_mark" VALUES(37,5,5,'right',69,69,NULL,NULL);
INSERT INTO "note_mark" VALUES(38,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(38,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(38,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(38,3,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(38,4,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(38,5,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(39,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(39,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(39,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(39,3,3,'wrong',71,74,0.0,'button-above');
INSERT INTO "note_mark" VALUES(39,4,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(39,5,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(40,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(40,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(40,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(40,3,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(40,4,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(40,5,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(41,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(41,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(41,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(41,3,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(41,4,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(41,5,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(42,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(42,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(42,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(42,3,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(42,4,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(42,5,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(43,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(43,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(43,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,3,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,4,4,'missed',74,NULL,NULL,NULL);
INSERT INTO "note_mark" VALUES(44,5,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,6,6,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,7,7,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,8,8,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,9,9,'right',62,62,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,10,10,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,11,11,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,12,12,'right',67,67,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,13,13,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,14,14,'wrong',66,68,0.0,'other-direction');
INSERT INTO "note_mark" VALUES(44,15,15,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,16,16,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,17,17,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,18,18,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,19,19,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,20,20,'right',73,73,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,21,21,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,22,22,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,23,23,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,24,24,'wrong',74,77,0.0,'button-above');
INSERT INTO "note_mark" VALUES(44,25,25,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,26,26,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,27,27,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,28,28,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,29,29,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,30,30,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,31,31,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,32,32,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,33,33,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,34,34,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,35,35,'right',62,62,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,36,36,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,37,37,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,38,38,'right',67,67,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,39,39,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,40,40,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,41,41,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,42,42,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,43,43,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,44,44,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,45,45,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,46,46,'right',73,73,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,47,47,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,48,48,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,49,49,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,50,50,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,51,51,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,52,52,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,53,53,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,54,54,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,55,55,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,56,56,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,57,57,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,58,58,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,59,59,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,60,60,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,61,61,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,62,62,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,63,63,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,64,64,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,65,65,'missed',78,NULL,NULL,NULL);
INSERT INTO "note_mark" VALUES(44,66,66,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,67,67,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,68,68,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,69,69,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,70,70,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,71,71,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,72,72,'right',73,73,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,73,73,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,74,74,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,75,75,'wrong',71,73,0.0,'other-row');
INSERT INTO "note_mark" VALUES(44,76,76,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,77,77,'right',62,62,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,78,78,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,79,79,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,80,80,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,81,81,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,82,82,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,83,83,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,84,84,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,85,85,'wrong',78,81,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,86,86,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,87,87,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,88,88,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,89,89,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,90,90,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,91,91,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,92,92,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,93,93,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,94,94,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,95,95,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,96,96,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,97,97,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,98,98,'right',73,73,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,99,99,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,100,100,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,101,101,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,102,102,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(44,103,103,'right',62,62,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,0,0,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,1,1,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,2,2,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,3,3,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,4,4,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,5,5,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,6,6,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,7,7,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,8,8,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,9,9,'right',62,62,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,10,10,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,11,11,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,12,12,'right',67,67,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,13,13,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,14,14,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,15,15,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,16,16,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,17,17,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,18,18,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,19,19,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,20,20,'right',73,73,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,21,21,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,22,22,'missed',64,NULL,NULL,NULL);
INSERT INTO "note_mark" VALUES(45,23,23,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,24,24,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,25,25,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,26,26,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,27,27,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,28,28,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,29,29,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,30,30,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,31,31,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,32,32,'wrong',69,71,0.0,'button-above');
INSERT INTO "note_mark" VALUES(45,33,33,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,34,34,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,35,35,'right',62,62,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,36,36,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,37,37,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,38,38,'right',67,67,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,39,39,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,40,40,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,41,41,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,42,42,'wrong',71,74,0.0,'button-above');
INSERT INTO "note_mark" VALUES(45,43,43,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,44,44,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,45,45,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,46,46,'right',73,73,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,47,47,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,48,48,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,49,49,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,50,50,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,51,51,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,52,52,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,53,53,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,54,54,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,55,55,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,56,56,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,57,57,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,58,58,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,59,59,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,60,60,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,61,61,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,62,62,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,63,63,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,64,64,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,65,65,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,66,66,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,67,67,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,68,68,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,69,69,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,70,70,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,71,71,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,72,72,'right',73,73,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,73,73,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,74,74,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,75,75,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,76,76,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,77,77,'right',62,62,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,78,78,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,79,79,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,80,80,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,81,81,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,82,82,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,83,83,'missed',76,NULL,NULL,NULL);
INSERT INTO "note_mark" VALUES(45,84,84,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,85,85,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,86,86,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,87,87,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,88,88,'right',66,66,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,89,89,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,90,90,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,91,91,'right',78,78,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,92,92,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,93,93,'wrong',69,71,0.0,'button-above');
INSERT INTO "note_mark" VALUES(45,94,94,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,95,95,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,96,96,'right',76,76,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,97,97,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,98,98,'right',73,73,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,99,99,'right',69,69,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,100,100,'right',64,64,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,101,101,'right',71,71,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,102,102,'right',74,74,0.0,NULL);
INSERT INTO "note_mark" VALUES(45,103,103,'wrong',62,65,0.0,'button-above');
CREATE TABLE note_month (
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        written INTEGER NOT NULL,        -- index into the round of the tune
        month TEXT NOT NULL,
        asked INTEGER NOT NULL,
        mistaken INTEGER NOT NULL,
        PRIMARY KEY (tune, box, written, month)
    ) STRICT, WITHOUT ROWID;
INSERT INTO "note_month" VALUES(1,'bc-21',0,'2026-11',26,1);
INSERT INTO "note_month" VALUES(1,'bc-21',1,'2026-11',26,0);
INSERT INTO "note_month" VALUES(1,'bc-21',2,'2026-11',26,1);
INSERT INTO "note_month" VALUES(1,'bc-21',3,'2026-11',27,2);
INSERT INTO "note_month" VALUES(1,'bc-21',4,'2026-11',27,3);
INSERT INTO "note_month" VALUES(1,'bc-21',5,'2026-11',27,1);
INSERT INTO "note_month" VALUES(1,'bc-21',6,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',7,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',8,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',9,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',10,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',11,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',12,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',13,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',14,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',15,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',16,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',17,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',18,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',19,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',20,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',21,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',22,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',23,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',24,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',25,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',26,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',27,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',28,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',29,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',30,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',31,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',32,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',33,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',34,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',35,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',36,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',37,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',38,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',39,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',40,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',41,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',42,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',43,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',44,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',45,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',46,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',47,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',48,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',49,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',50,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',51,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',52,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',53,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',54,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',55,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',56,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',57,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',58,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',59,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',60,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',61,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',62,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',63,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',64,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',65,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',66,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',67,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',68,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',69,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',70,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',71,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',72,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',73,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',74,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',75,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',76,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',77,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',78,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',79,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',80,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',81,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',82,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',83,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',84,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',85,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',86,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',87,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',88,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',89,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',90,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',91,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',92,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',93,'2026-11',2,1);
INSERT INTO "note_month" VALUES(1,'bc-21',94,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',95,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',96,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',97,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',98,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',99,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',100,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',101,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',102,'2026-11',2,0);
INSERT INTO "note_month" VALUES(1,'bc-21',103,'2026-11',2,1);
CREATE TABLE piece_day (
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        piece TEXT NOT NULL,
        day TEXT NOT NULL,
        rounds INTEGER NOT NULL,
        clean INTEGER NOT NULL,
        best REAL,                       -- the fastest clean round in time, beats a minute
        PRIMARY KEY (tune, box, piece, day)
    ) STRICT, WITHOUT ROWID;
INSERT INTO "piece_day" VALUES(1,'bc-21','A bar 1','2026-11-29',18,16,7.83999999999999914752e+01);
INSERT INTO "piece_day" VALUES(1,'bc-21','A bar 2','2026-11-29',19,15,7.83999999999999914752e+01);
INSERT INTO "piece_day" VALUES(1,'bc-21','A phrase 1','2026-11-29',6,5,72.8);
INSERT INTO "piece_day" VALUES(1,'bc-21','round','2026-11-29',2,0,NULL);
CREATE TABLE practice_day (
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        day TEXT NOT NULL,
        ms INTEGER NOT NULL,             -- played, short waits between two rounds included
        PRIMARY KEY (tune, box, day)
    ) STRICT, WITHOUT ROWID;
INSERT INTO "practice_day" VALUES(1,'bc-21','2026-11-29',1394);
CREATE TABLE review (                -- every review of a whole tune
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        at TEXT NOT NULL,                -- UTC, ISO 8601
        rating INTEGER NOT NULL CHECK (rating BETWEEN 1 AND 4),   -- again, hard, good, easy
        PRIMARY KEY (tune, box, at)
    ) STRICT, WITHOUT ROWID;
CREATE TABLE round (
        id INTEGER PRIMARY KEY,
        sitting INTEGER NOT NULL REFERENCES sitting(id),
        piece TEXT NOT NULL,
        step TEXT NOT NULL,
        bpm REAL,                        -- NULL where there was no clock
        clean INTEGER NOT NULL CHECK (clean IN (0, 1)),
        standin INTEGER NOT NULL CHECK (standin IN (0, 1)),
        ended TEXT NOT NULL
    ) STRICT;
INSERT INTO "round" VALUES(1,1,'A bar 1','in order',NULL,1,0,'2026-11-29T01:33:46.708+00:00');
INSERT INTO "round" VALUES(2,1,'A bar 1','in order',NULL,1,0,'2026-11-29T01:33:46.713+00:00');
INSERT INTO "round" VALUES(3,1,'A bar 1','in order',NULL,1,0,'2026-11-29T01:33:46.718+00:00');
INSERT INTO "round" VALUES(4,1,'A bar 1','in time',56.0,1,0,'2026-11-29T01:33:46.737+00:00');
INSERT INTO "round" VALUES(5,1,'A bar 1','in time',56.0,0,0,'2026-11-29T01:33:46.746+00:00');
INSERT INTO "round" VALUES(6,1,'A bar 1','in time',56.0,1,0,'2026-11-29T01:33:46.752+00:00');
INSERT INTO "round" VALUES(7,1,'A bar 1','in time',56.0,1,0,'2026-11-29T01:33:46.759+00:00');
INSERT INTO "round" VALUES(8,1,'A bar 1','in time',56.0,1,0,'2026-11-29T01:33:46.767+00:00');
INSERT INTO "round" VALUES(9,1,'A bar 1','in time',72.8,0,0,'2026-11-29T01:33:46.776+00:00');
INSERT INTO "round" VALUES(10,1,'A bar 1','in time',72.8,1,0,'2026-11-29T01:33:46.782+00:00');
INSERT INTO "round" VALUES(11,1,'A bar 1','in time',72.8,1,0,'2026-11-29T01:33:46.787+00:00');
INSERT INTO "round" VALUES(12,1,'A bar 1','in time',72.8,1,0,'2026-11-29T01:33:46.793+00:00');
INSERT INTO "round" VALUES(13,1,'A bar 1','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:46.801+00:00');
INSERT INTO "round" VALUES(14,1,'A bar 1','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:46.806+00:00');
INSERT INTO "round" VALUES(15,1,'A bar 1','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:46.811+00:00');
INSERT INTO "round" VALUES(16,1,'A bar 2','in order',NULL,1,0,'2026-11-29T01:33:46.824+00:00');
INSERT INTO "round" VALUES(17,1,'A bar 2','in order',NULL,1,0,'2026-11-29T01:33:46.828+00:00');
INSERT INTO "round" VALUES(18,1,'A bar 2','in order',NULL,1,0,'2026-11-29T01:33:46.832+00:00');
INSERT INTO "round" VALUES(19,1,'A bar 2','in time',56.0,1,0,'2026-11-29T01:33:46.844+00:00');
INSERT INTO "round" VALUES(20,1,'A bar 2','in time',56.0,1,0,'2026-11-29T01:33:46.851+00:00');
INSERT INTO "round" VALUES(21,1,'A bar 2','in time',56.0,1,0,'2026-11-29T01:33:46.859+00:00');
INSERT INTO "round" VALUES(22,1,'A bar 2','in time',72.8,0,0,'2026-11-29T01:33:46.872+00:00');
INSERT INTO "round" VALUES(23,1,'A bar 2','in time',72.8,1,0,'2026-11-29T01:33:46.876+00:00');
INSERT INTO "round" VALUES(24,1,'A bar 2','in time',72.8,1,0,'2026-11-29T01:33:46.882+00:00');
INSERT INTO "round" VALUES(25,1,'A bar 2','in time',72.8,1,0,'2026-11-29T01:33:46.887+00:00');
INSERT INTO "round" VALUES(26,1,'A bar 2','in time',7.83999999999999914752e+01,0,0,'2026-11-29T01:33:46.897+00:00');
INSERT INTO "round" VALUES(27,1,'A bar 2','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:46.902+00:00');
INSERT INTO "round" VALUES(28,1,'A bar 2','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:46.908+00:00');
INSERT INTO "round" VALUES(29,1,'A bar 2','in time',7.83999999999999914752e+01,0,0,'2026-11-29T01:33:46.913+00:00');
INSERT INTO "round" VALUES(30,1,'A bar 2','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:46.919+00:00');
INSERT INTO "round" VALUES(31,1,'A bar 2','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:46.925+00:00');
INSERT INTO "round" VALUES(32,1,'A bar 2','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:46.930+00:00');
INSERT INTO "round" VALUES(33,1,'A bar 1','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:46.954+00:00');
INSERT INTO "round" VALUES(34,2,'A bar 1','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:47.016+00:00');
INSERT INTO "round" VALUES(35,2,'A bar 2','in time',7.83999999999999914752e+01,0,0,'2026-11-29T01:33:47.027+00:00');
INSERT INTO "round" VALUES(36,2,'A bar 2','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:47.032+00:00');
INSERT INTO "round" VALUES(37,2,'A phrase 1','in order',NULL,1,0,'2026-11-29T01:33:47.041+00:00');
INSERT INTO "round" VALUES(38,2,'A phrase 1','in time',72.8,1,0,'2026-11-29T01:33:47.054+00:00');
INSERT INTO "round" VALUES(39,2,'A phrase 1','in time',72.8,0,0,'2026-11-29T01:33:47.070+00:00');
INSERT INTO "round" VALUES(40,2,'A phrase 1','in time',72.8,1,0,'2026-11-29T01:33:47.081+00:00');
INSERT INTO "round" VALUES(41,2,'A phrase 1','in time',72.8,1,0,'2026-11-29T01:33:47.091+00:00');
INSERT INTO "round" VALUES(42,2,'A phrase 1','in time',72.8,1,0,'2026-11-29T01:33:47.101+00:00');
INSERT INTO "round" VALUES(43,2,'A bar 1','in time',7.83999999999999914752e+01,1,0,'2026-11-29T01:33:47.110+00:00');
INSERT INTO "round" VALUES(44,3,'round','in time',112.0,0,0,'2026-11-29T01:33:47.645+00:00');
INSERT INTO "round" VALUES(45,3,'round','in time',112.0,0,0,'2026-11-29T01:33:48.164+00:00');
CREATE TABLE sitting (               -- one session, from start to end
        id INTEGER PRIMARY KEY,
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        began TEXT NOT NULL,             -- UTC, ISO 8601
        ended TEXT
    ) STRICT;
INSERT INTO "sitting" VALUES(1,1,'bc-21','2026-11-29T01:33:46.675+00:00',NULL);
INSERT INTO "sitting" VALUES(2,1,'bc-21','2026-11-29T01:33:47.004+00:00',NULL);
INSERT INTO "sitting" VALUES(3,1,'bc-21','2026-11-29T01:33:47.155+00:00',NULL);
CREATE TABLE standing (              -- where the player is: written together with each round
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        standin INTEGER NOT NULL CHECK (standin IN (0, 1)),
        state TEXT NOT NULL, put TEXT NOT NULL DEFAULT '',             -- JSON
        PRIMARY KEY (tune, box, standin)
    ) STRICT, WITHOUT ROWID;
INSERT INTO "standing" VALUES(1,'bc-21',0,'{"current": "round", "standings": {"A bar 1": {"step": 2, "clean": 0, "failed": 0, "slips": 2, "done": true, "share": 0.7}, "A bar 2": {"step": 2, "clean": 0, "failed": 0, "slips": 3, "done": true, "share": 0.7}, "A phrase 1": {"step": 2, "clean": 0, "failed": 0, "slips": 1, "done": false, "share": 0.8}, "round": {"step": 2, "clean": 0, "failed": 0, "slips": 0, "done": false, "share": 0.85}}, "known": {"0": [0, null, 1, 0], "1": [1, 1.0, 1, 0], "2": [21, 1.0, 0, 0], "3": [0, 0.95, 3, 0], "4": [1, 1.0, 1, 0], "5": [20, 1.0, 0, 0], "6": [0, 0.95, 1, 0], "7": [2, 1.0, 0, 0], "8": [2, 1.0, 0, 0], "9": [2, 1.0, 0, 0], "10": [2, 1.0, 0, 0], "11": [2, 1.0, 0, 0], "12": [2, 1.0, 0, 0], "13": [2, 1.0, 0, 0], "18": [2, 1.0, 0, 0], "19": [2, 1.0, 0, 0], "20": [2, 1.0, 0, 0], "21": [2, 1.0, 0, 0], "22": [0, 0.95, 1, 0], "23": [2, 1.0, 0, 0], "24": [1, 1.0, 1, 0], "25": [2, 1.0, 0, 0], "26": [2, 1.0, 0, 0], "52": [2, 1.0, 0, 0], "53": [2, 1.0, 0, 0], "54": [0, 0.95, 1, 0], "55": [2, 1.0, 0, 0], "57": [0, 0.95, 1, 0], "58": [2, 1.0, 0, 0], "59": [1, 1.0, 1, 0], "62": [2, 1.0, 0, 0], "63": [2, 1.0, 0, 0], "64": [2, 1.0, 0, 0], "65": [1, 1.0, 1, 0], "71": [2, 1.0, 0, 0], "72": [2, 1.0, 0, 0], "75": [1, 1.0, 1, 0], "77": [0, 0.95, 1, 0], "78": [2, 1.0, 0, 0]}, "focus": [], "aside": null, "size": 0, "stride": 4, "pace": 0.65}','2026-11-29T01:33:48.165+00:00');
CREATE TABLE tune (
        id INTEGER PRIMARY KEY,
        print TEXT NOT NULL UNIQUE,      -- fingerprint of the notes of a round
        title TEXT NOT NULL,
        rhythm TEXT NOT NULL
    , bars TEXT, target REAL) STRICT;
INSERT INTO "tune" VALUES(1,'a23ac8cb53bd1d96436d47bf26bbd58e0fffea26b89b8d0d4434457317c3ff12','The Lamp on Tanner''s Quay','','[["A",1,1,3],["A",2,1,3],["A",3,1,4],["A",4,1,3],["A",5,1,3],["A",6,1,4],["A",7,1,4],["A",8,1,2],["A",1,1,3],["A",2,1,3],["A",3,1,4],["A",4,1,3],["A",5,1,3],["A",6,1,4],["A",7,1,4],["A",8,1,2],["B",1,1,3],["B",2,1,4],["B",3,1,4],["B",4,1,2],["B",5,1,3],["B",6,1,4],["B",7,1,4],["B",8,1,2],["B",1,1,3],["B",2,1,4],["B",3,1,4],["B",4,1,2],["B",5,1,3],["B",6,1,4],["B",7,1,4],["B",8,1,2]]',NULL);
CREATE INDEX round_sitting ON round(sitting);
CREATE INDEX sitting_tune ON sitting(tune, box);
COMMIT;
