-- A stability log of layout 2, as the second kit wrote it: two studies, six readings, one of them a correction, a photo.
PRAGMA application_id = 1399352151;
PRAGMA user_version = 2;
BEGIN TRANSACTION;
CREATE TABLE observations (
	id INTEGER NOT NULL, 
	study_id INTEGER NOT NULL, 
	batch TEXT NOT NULL, 
	condition TEXT NOT NULL, 
	time_point TEXT NOT NULL, 
	attribute TEXT NOT NULL, 
	value TEXT NOT NULL, 
	number FLOAT, 
	observed_on TEXT NOT NULL, 
	observer TEXT DEFAULT '' NOT NULL, 
	note TEXT DEFAULT '' NOT NULL, 
	replaces INTEGER, 
	reason TEXT DEFAULT '' NOT NULL, 
	recorded_at TEXT NOT NULL, 
	replicate INTEGER DEFAULT '1' NOT NULL, 
	recorded_by TEXT DEFAULT '' NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(study_id, batch) REFERENCES study_batches (study_id, batch), 
	FOREIGN KEY(study_id, condition) REFERENCES study_conditions (study_id, condition), 
	FOREIGN KEY(study_id, time_point) REFERENCES study_time_points (study_id, time_point), 
	FOREIGN KEY(study_id, attribute) REFERENCES study_attributes (study_id, attribute), 
	UNIQUE (id, study_id, batch, condition, time_point, attribute), 
	FOREIGN KEY(replaces, study_id, batch, condition, time_point, attribute) REFERENCES observations (id, study_id, batch, condition, time_point, attribute), 
	CONSTRAINT value_is_not_empty CHECK (length(trim(value)) > 0), 
	CONSTRAINT number_is_finite CHECK (number IS NULL OR abs(number) < 1e300), 
	CONSTRAINT observed_on_is_a_date CHECK (length(observed_on) = 10), 
	CONSTRAINT recorded_at_is_a_moment CHECK (length(recorded_at) >= 19), 
	CONSTRAINT a_correction_has_a_reason CHECK ((replaces IS NULL) = (length(trim(reason)) = 0)), 
	CONSTRAINT a_correction_comes_later CHECK (replaces IS NULL OR replaces < id), 
	CONSTRAINT replicate_counts_from_1 CHECK (replicate BETWEEN 1 AND 99), 
	FOREIGN KEY(study_id) REFERENCES studies (id), 
	UNIQUE (replaces)
);
INSERT INTO "observations" VALUES(1,1,'A','cycled','start','ph','4,5',4.5,'2026-01-12','Ada','it''s "clear"; ü',NULL,'','2026-01-12T12:00:00+00:00',1,'');
INSERT INTO "observations" VALUES(2,1,'A','cycled','start','ph','5,4',5.4,'2026-01-12','Ada','',1,'digits swapped when typing','2026-01-12T12:00:00+00:00',1,'');
INSERT INTO "observations" VALUES(3,1,'A','cycled','start','ph','5.45',5.45,'2026-01-12','Ada','',NULL,'','2026-01-12T12:00:00+00:00',2,'');
INSERT INTO "observations" VALUES(4,1,'B','cycled','start','ph','5.3',5.3,'2026-01-12','','',NULL,'','2026-01-12T12:00:00+00:00',1,'');
INSERT INTO "observations" VALUES(5,1,'A','cycled','start','appearance','0',0.0,'2026-01-12','','',NULL,'','2026-01-12T12:00:00+00:00',1,'');
INSERT INTO "observations" VALUES(6,2,'TL-01','kept','start','ph','6',6.0,'2026-01-12','','',NULL,'','2026-01-12T12:00:00+00:00',1,'');
CREATE TABLE photos (
	id INTEGER NOT NULL, 
	observation_id INTEGER NOT NULL, 
	sha256 TEXT NOT NULL, 
	file_name TEXT NOT NULL, 
	media_type TEXT NOT NULL, 
	bytes INTEGER NOT NULL, 
	width INTEGER NOT NULL, 
	height INTEGER NOT NULL, 
	patch TEXT DEFAULT '' NOT NULL, 
	colour TEXT DEFAULT '' NOT NULL, 
	attached_at TEXT NOT NULL, 
	attached_by TEXT DEFAULT '' NOT NULL, 
	note TEXT DEFAULT '' NOT NULL, 
	PRIMARY KEY (id), 
	CONSTRAINT sha256_has_64_digits CHECK (length(sha256) = 64), 
	CONSTRAINT sha256_is_hexadecimal CHECK (length(trim(sha256, '0123456789abcdef')) = 0), 
	CONSTRAINT media_type_is_a_picture CHECK (media_type IN ('image/jpeg', 'image/png')), 
	CONSTRAINT a_photo_is_not_empty CHECK (bytes > 0), 
	CONSTRAINT a_photo_has_a_size CHECK (width > 0 AND height > 0), 
	CONSTRAINT attached_at_is_a_moment CHECK (length(attached_at) >= 19), 
	CONSTRAINT file_name_is_not_empty CHECK (length(trim(file_name)) > 0), 
	FOREIGN KEY(observation_id) REFERENCES observations (id)
);
INSERT INTO "photos" VALUES(1,4,'ffbb7d7cc08e12667da7f3d173948143ada01121a6eb238cc403f4021745b4de','bottle.png','image/png',103,40,30,'1 2 10 10','70.5 4.0 30.25','2026-01-12T12:00:00+00:00','','left side');
CREATE TABLE schema_versions (
	version INTEGER NOT NULL, 
	applied_at TEXT NOT NULL, 
	PRIMARY KEY (version)
);
INSERT INTO "schema_versions" VALUES(2,'2026-01-12T12:00:00+00:00');
CREATE TABLE studies (
	id INTEGER NOT NULL, 
	title TEXT NOT NULL, 
	"plan" TEXT NOT NULL, 
	started_on TEXT NOT NULL, 
	formula_title TEXT DEFAULT '' NOT NULL, 
	created_at TEXT NOT NULL, 
	PRIMARY KEY (id), 
	CONSTRAINT title_is_not_empty CHECK (length(trim(title)) > 0), 
	CONSTRAINT plan_is_not_empty CHECK (length(trim(plan)) > 0), 
	CONSTRAINT started_on_is_a_date CHECK (length(started_on) = 10)
);
INSERT INTO "studies" VALUES(1,'Body shake, autumn','{"key": "freeze-thaw", "title": "Freeze-thaw, three cycles", "conditions": [{"key": "cycled", "label": "Cycled, cold and warm", "coldest": -10, "warmest": 45, "temperature": null, "light": "dark", "how": "24 hours at -10 to 4 °C, then 24 hours at 25 to 45 °C. Leave room in the bottle: water grows when it freezes.", "source": "common practice, from memory"}, {"key": "kept", "label": "Kept at 20 to 25 °C", "coldest": 20, "warmest": 25, "temperature": 22.5, "light": "dark", "how": "The same batch, left in the cupboard, to compare with.", "source": "common practice"}], "time_points": [{"label": "start", "days": 0, "grace": 0}, {"label": "after cycle 1", "days": 2, "grace": 0}, {"label": "after cycle 2", "days": 4, "grace": 0}, {"label": "after cycle 3", "days": 6, "grace": 0}], "attributes": [{"key": "appearance", "label": "Appearance", "kind": "grade", "unit": "", "how": "Hold the rested bottle against white paper in daylight, beside a bottle kept in the fridge, and pick the grade that fits.", "lower": null, "upper": 2.0, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": false, "scale": ["as on the first day", "slight change: seen only beside the fridge bottle", "clear change: seen at once and still pleasing", "strong change: a customer would ask", "spoiled: clumps or growth or a layer gone"], "source": "common practice"}, {"key": "odour", "label": "Odour", "kind": "grade", "unit": "", "how": "Shake, open, and smell a drop on a paper strip after one minute, beside a drop from the fridge bottle.", "lower": null, "upper": 2.0, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": false, "scale": ["as on the first day", "slightly weaker or different", "clearly weaker or different and still pleasing", "off: a customer would ask", "rancid or sour or foul"], "source": "common practice"}, {"key": "colour", "label": "Colour", "kind": "colour", "unit": "", "how": "Photograph the rested bottle beside a grey card, always in the same light against the same white paper, and read the same patch of the upper layer; a colour meter does it better.", "lower": null, "upper": null, "change": 3.0, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": true, "scale": [], "source": "common practice: a CIEDE2000 difference of about 1 is just seen side by side, one of 3 is seen by most; from memory"}, {"key": "ph", "label": "pH", "kind": "number", "unit": "", "how": "Draw from the water layer of the rested bottle and read a meter calibrated that day at two buffers, at 20 to 25 °C.", "lower": null, "upper": null, "change": 0.5, "change_percent": null, "least": 0.0, "most": 14.0, "whole": false, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "viscosity", "label": "Viscosity of the lower layer", "kind": "number", "unit": "mPa·s", "how": "Draw from the lower layer, bring it to 20 or 25 °C, and read a viscometer with the same spindle and speed each time, or time a flow cup and use its table.", "lower": null, "upper": null, "change": null, "change_percent": 20.0, "least": 0.01, "most": 10000000.0, "whole": false, "expected": "", "optional": true, "scale": [], "source": "common practice"}, {"key": "lower_layer", "label": "Lower layer", "kind": "number", "unit": "mm", "how": "Stand the bottle on a level table for a day and measure from its inner floor to the line between the layers.", "lower": null, "upper": null, "change": 3.0, "change_percent": null, "least": 0.0, "most": 1000.0, "whole": false, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "minutes_to_separate", "label": "Time to separate", "kind": "number", "unit": "min", "how": "Shake ten times, set down, start the clock, and stop it when the line between the layers is sharp again.", "lower": null, "upper": null, "change": null, "change_percent": 50.0, "least": 0.0, "most": 10000.0, "whole": false, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "shakes_to_remix", "label": "Shakes to re-mix", "kind": "number", "unit": "shakes", "how": "Count full up-and-down shakes of the rested bottle until no layer can be seen.", "lower": null, "upper": 20.0, "change": null, "change_percent": null, "least": 0.0, "most": 1000.0, "whole": true, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "mass", "label": "Mass of the bottle", "kind": "number", "unit": "g", "how": "Weigh the closed, dry bottle with its pump or cap, always on the same balance.", "lower": null, "upper": null, "change": null, "change_percent": 2.0, "least": 0.001, "most": 100000.0, "whole": false, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "colour_note", "label": "Colour note", "kind": "text", "unit": "", "how": "Write the colour of each layer in a few words, in daylight, against white paper.", "lower": null, "upper": null, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": true, "scale": [], "source": "common practice"}, {"key": "leak", "label": "Leak or loose cap", "kind": "yes/no", "unit": "", "how": "Wipe the neck with dry tissue, lay the bottle on its side for a minute, and look for a mark on the tissue.", "lower": null, "upper": null, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "no", "optional": false, "scale": [], "source": "common practice"}, {"key": "remark", "label": "Remark", "kind": "text", "unit": "", "how": "Write what no other row asks for, or why the pull was missed or could not be read.", "lower": null, "upper": null, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": true, "scale": [], "source": "common practice"}], "about": "One cycle is 24 hours cold and 24 hours warm; read the bottle at room temperature at the end of each cycle.", "source": "common practice (24 h at -10 to 4 °C, then 24 h at 25 to 45 °C, 3 to 6 cycles), from memory; houses differ"}','2026-01-12','After-swim body shake','2026-01-12T12:00:00+00:00');
INSERT INTO "studies" VALUES(2,'Shampoo, salt curve','{"key": "freeze-thaw", "title": "Freeze-thaw, three cycles", "conditions": [{"key": "cycled", "label": "Cycled, cold and warm", "coldest": -10, "warmest": 45, "temperature": null, "light": "dark", "how": "24 hours at -10 to 4 °C, then 24 hours at 25 to 45 °C. Leave room in the bottle: water grows when it freezes.", "source": "common practice, from memory"}, {"key": "kept", "label": "Kept at 20 to 25 °C", "coldest": 20, "warmest": 25, "temperature": 22.5, "light": "dark", "how": "The same batch, left in the cupboard, to compare with.", "source": "common practice"}], "time_points": [{"label": "start", "days": 0, "grace": 0}, {"label": "after cycle 1", "days": 2, "grace": 0}, {"label": "after cycle 2", "days": 4, "grace": 0}, {"label": "after cycle 3", "days": 6, "grace": 0}], "attributes": [{"key": "appearance", "label": "Appearance", "kind": "grade", "unit": "", "how": "Hold the rested bottle against white paper in daylight, beside a bottle kept in the fridge, and pick the grade that fits.", "lower": null, "upper": 2.0, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": false, "scale": ["as on the first day", "slight change: seen only beside the fridge bottle", "clear change: seen at once and still pleasing", "strong change: a customer would ask", "spoiled: clumps or growth or a layer gone"], "source": "common practice"}, {"key": "odour", "label": "Odour", "kind": "grade", "unit": "", "how": "Shake, open, and smell a drop on a paper strip after one minute, beside a drop from the fridge bottle.", "lower": null, "upper": 2.0, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": false, "scale": ["as on the first day", "slightly weaker or different", "clearly weaker or different and still pleasing", "off: a customer would ask", "rancid or sour or foul"], "source": "common practice"}, {"key": "colour", "label": "Colour", "kind": "colour", "unit": "", "how": "Photograph the rested bottle beside a grey card, always in the same light against the same white paper, and read the same patch of the upper layer; a colour meter does it better.", "lower": null, "upper": null, "change": 3.0, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": true, "scale": [], "source": "common practice: a CIEDE2000 difference of about 1 is just seen side by side, one of 3 is seen by most; from memory"}, {"key": "ph", "label": "pH", "kind": "number", "unit": "", "how": "Draw from the water layer of the rested bottle and read a meter calibrated that day at two buffers, at 20 to 25 °C.", "lower": null, "upper": null, "change": 0.5, "change_percent": null, "least": 0.0, "most": 14.0, "whole": false, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "viscosity", "label": "Viscosity of the lower layer", "kind": "number", "unit": "mPa·s", "how": "Draw from the lower layer, bring it to 20 or 25 °C, and read a viscometer with the same spindle and speed each time, or time a flow cup and use its table.", "lower": null, "upper": null, "change": null, "change_percent": 20.0, "least": 0.01, "most": 10000000.0, "whole": false, "expected": "", "optional": true, "scale": [], "source": "common practice"}, {"key": "lower_layer", "label": "Lower layer", "kind": "number", "unit": "mm", "how": "Stand the bottle on a level table for a day and measure from its inner floor to the line between the layers.", "lower": null, "upper": null, "change": 3.0, "change_percent": null, "least": 0.0, "most": 1000.0, "whole": false, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "minutes_to_separate", "label": "Time to separate", "kind": "number", "unit": "min", "how": "Shake ten times, set down, start the clock, and stop it when the line between the layers is sharp again.", "lower": null, "upper": null, "change": null, "change_percent": 50.0, "least": 0.0, "most": 10000.0, "whole": false, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "shakes_to_remix", "label": "Shakes to re-mix", "kind": "number", "unit": "shakes", "how": "Count full up-and-down shakes of the rested bottle until no layer can be seen.", "lower": null, "upper": 20.0, "change": null, "change_percent": null, "least": 0.0, "most": 1000.0, "whole": true, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "mass", "label": "Mass of the bottle", "kind": "number", "unit": "g", "how": "Weigh the closed, dry bottle with its pump or cap, always on the same balance.", "lower": null, "upper": null, "change": null, "change_percent": 2.0, "least": 0.001, "most": 100000.0, "whole": false, "expected": "", "optional": false, "scale": [], "source": "common practice"}, {"key": "colour_note", "label": "Colour note", "kind": "text", "unit": "", "how": "Write the colour of each layer in a few words, in daylight, against white paper.", "lower": null, "upper": null, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": true, "scale": [], "source": "common practice"}, {"key": "leak", "label": "Leak or loose cap", "kind": "yes/no", "unit": "", "how": "Wipe the neck with dry tissue, lay the bottle on its side for a minute, and look for a mark on the tissue.", "lower": null, "upper": null, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "no", "optional": false, "scale": [], "source": "common practice"}, {"key": "remark", "label": "Remark", "kind": "text", "unit": "", "how": "Write what no other row asks for, or why the pull was missed or could not be read.", "lower": null, "upper": null, "change": null, "change_percent": null, "least": null, "most": null, "whole": false, "expected": "", "optional": true, "scale": [], "source": "common practice"}], "about": "One cycle is 24 hours cold and 24 hours warm; read the bottle at room temperature at the end of each cycle.", "source": "common practice (24 h at -10 to 4 °C, then 24 h at 25 to 45 °C, 3 to 6 cycles), from memory; houses differ"}','2026-01-12','','2026-01-12T12:00:00+00:00');
CREATE TABLE study_attributes (
	study_id INTEGER NOT NULL, 
	attribute TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	PRIMARY KEY (study_id, attribute), 
	UNIQUE (study_id, position), 
	CONSTRAINT attribute_is_not_empty CHECK (length(trim(attribute)) > 0), 
	FOREIGN KEY(study_id) REFERENCES studies (id)
);
INSERT INTO "study_attributes" VALUES(1,'appearance',0);
INSERT INTO "study_attributes" VALUES(1,'odour',1);
INSERT INTO "study_attributes" VALUES(1,'colour',2);
INSERT INTO "study_attributes" VALUES(1,'ph',3);
INSERT INTO "study_attributes" VALUES(1,'viscosity',4);
INSERT INTO "study_attributes" VALUES(1,'lower_layer',5);
INSERT INTO "study_attributes" VALUES(1,'minutes_to_separate',6);
INSERT INTO "study_attributes" VALUES(1,'shakes_to_remix',7);
INSERT INTO "study_attributes" VALUES(1,'mass',8);
INSERT INTO "study_attributes" VALUES(1,'colour_note',9);
INSERT INTO "study_attributes" VALUES(1,'leak',10);
INSERT INTO "study_attributes" VALUES(1,'remark',11);
INSERT INTO "study_attributes" VALUES(2,'appearance',0);
INSERT INTO "study_attributes" VALUES(2,'odour',1);
INSERT INTO "study_attributes" VALUES(2,'colour',2);
INSERT INTO "study_attributes" VALUES(2,'ph',3);
INSERT INTO "study_attributes" VALUES(2,'viscosity',4);
INSERT INTO "study_attributes" VALUES(2,'lower_layer',5);
INSERT INTO "study_attributes" VALUES(2,'minutes_to_separate',6);
INSERT INTO "study_attributes" VALUES(2,'shakes_to_remix',7);
INSERT INTO "study_attributes" VALUES(2,'mass',8);
INSERT INTO "study_attributes" VALUES(2,'colour_note',9);
INSERT INTO "study_attributes" VALUES(2,'leak',10);
INSERT INTO "study_attributes" VALUES(2,'remark',11);
CREATE TABLE study_batches (
	study_id INTEGER NOT NULL, 
	batch TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	PRIMARY KEY (study_id, batch), 
	UNIQUE (study_id, position), 
	CONSTRAINT batch_is_not_empty CHECK (length(trim(batch)) > 0), 
	FOREIGN KEY(study_id) REFERENCES studies (id)
);
INSERT INTO "study_batches" VALUES(1,'A',0);
INSERT INTO "study_batches" VALUES(1,'B',1);
INSERT INTO "study_batches" VALUES(2,'TL-01',0);
CREATE TABLE study_conditions (
	study_id INTEGER NOT NULL, 
	condition TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	PRIMARY KEY (study_id, condition), 
	UNIQUE (study_id, position), 
	CONSTRAINT condition_is_not_empty CHECK (length(trim(condition)) > 0), 
	FOREIGN KEY(study_id) REFERENCES studies (id)
);
INSERT INTO "study_conditions" VALUES(1,'cycled',0);
INSERT INTO "study_conditions" VALUES(1,'kept',1);
INSERT INTO "study_conditions" VALUES(2,'cycled',0);
INSERT INTO "study_conditions" VALUES(2,'kept',1);
CREATE TABLE study_time_points (
	study_id INTEGER NOT NULL, 
	time_point TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	PRIMARY KEY (study_id, time_point), 
	UNIQUE (study_id, position), 
	CONSTRAINT time_point_is_not_empty CHECK (length(trim(time_point)) > 0), 
	FOREIGN KEY(study_id) REFERENCES studies (id)
);
INSERT INTO "study_time_points" VALUES(1,'start',0);
INSERT INTO "study_time_points" VALUES(1,'after cycle 1',1);
INSERT INTO "study_time_points" VALUES(1,'after cycle 2',2);
INSERT INTO "study_time_points" VALUES(1,'after cycle 3',3);
INSERT INTO "study_time_points" VALUES(2,'start',0);
INSERT INTO "study_time_points" VALUES(2,'after cycle 1',1);
INSERT INTO "study_time_points" VALUES(2,'after cycle 2',2);
INSERT INTO "study_time_points" VALUES(2,'after cycle 3',3);
CREATE INDEX readings_of_a_series ON observations (study_id, attribute, condition);
CREATE UNIQUE INDEX one_first_reading_in_each_cell ON observations (study_id, batch, condition, time_point, attribute, replicate) WHERE replaces IS NULL;
CREATE INDEX readings_of_a_pull ON observations (study_id, batch, condition, time_point, attribute, observed_on);
CREATE INDEX ix_photos_observation_id ON photos (observation_id);
CREATE TRIGGER schema_versions_update_refused BEFORE UPDATE ON schema_versions  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER schema_versions_delete_refused BEFORE DELETE ON schema_versions  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER schema_versions_replace_0_refused BEFORE INSERT ON schema_versions WHEN EXISTS (SELECT 1 FROM schema_versions WHERE version = NEW.version) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER studies_update_refused BEFORE UPDATE ON studies  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER studies_delete_refused BEFORE DELETE ON studies  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER studies_replace_0_refused BEFORE INSERT ON studies WHEN EXISTS (SELECT 1 FROM studies WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER study_batches_update_refused BEFORE UPDATE ON study_batches  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER study_batches_delete_refused BEFORE DELETE ON study_batches  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER study_batches_replace_0_refused BEFORE INSERT ON study_batches WHEN EXISTS (SELECT 1 FROM study_batches WHERE study_id = NEW.study_id AND batch = NEW.batch) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER study_batches_replace_1_refused BEFORE INSERT ON study_batches WHEN EXISTS (SELECT 1 FROM study_batches WHERE study_id = NEW.study_id AND position = NEW.position) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER study_conditions_update_refused BEFORE UPDATE ON study_conditions  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER study_conditions_delete_refused BEFORE DELETE ON study_conditions  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER study_conditions_replace_0_refused BEFORE INSERT ON study_conditions WHEN EXISTS (SELECT 1 FROM study_conditions WHERE study_id = NEW.study_id AND condition = NEW.condition) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER study_conditions_replace_1_refused BEFORE INSERT ON study_conditions WHEN EXISTS (SELECT 1 FROM study_conditions WHERE study_id = NEW.study_id AND position = NEW.position) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER study_time_points_update_refused BEFORE UPDATE ON study_time_points  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER study_time_points_delete_refused BEFORE DELETE ON study_time_points  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER study_time_points_replace_0_refused BEFORE INSERT ON study_time_points WHEN EXISTS (SELECT 1 FROM study_time_points WHERE study_id = NEW.study_id AND position = NEW.position) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER study_time_points_replace_1_refused BEFORE INSERT ON study_time_points WHEN EXISTS (SELECT 1 FROM study_time_points WHERE study_id = NEW.study_id AND time_point = NEW.time_point) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER study_attributes_update_refused BEFORE UPDATE ON study_attributes  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER study_attributes_delete_refused BEFORE DELETE ON study_attributes  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER study_attributes_replace_0_refused BEFORE INSERT ON study_attributes WHEN EXISTS (SELECT 1 FROM study_attributes WHERE study_id = NEW.study_id AND attribute = NEW.attribute) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER study_attributes_replace_1_refused BEFORE INSERT ON study_attributes WHEN EXISTS (SELECT 1 FROM study_attributes WHERE study_id = NEW.study_id AND position = NEW.position) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER observations_update_refused BEFORE UPDATE ON observations  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER observations_delete_refused BEFORE DELETE ON observations  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER observations_replace_0_refused BEFORE INSERT ON observations WHEN EXISTS (SELECT 1 FROM observations WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER observations_replace_1_refused BEFORE INSERT ON observations WHEN EXISTS (SELECT 1 FROM observations WHERE replaces = NEW.replaces) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
CREATE TRIGGER observations_second_first_reading_refused BEFORE INSERT ON observations WHEN NEW.replaces IS NULL AND EXISTS (SELECT 1 FROM observations WHERE replaces IS NULL AND study_id = NEW.study_id AND batch = NEW.batch AND condition = NEW.condition AND time_point = NEW.time_point AND attribute = NEW.attribute AND replicate = NEW.replicate) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this cell has a reading already.'); END;
CREATE TRIGGER observations_other_replicate_refused BEFORE INSERT ON observations WHEN NEW.replaces IS NOT NULL AND NOT EXISTS (SELECT 1 FROM observations WHERE id = NEW.replaces AND replicate = NEW.replicate) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: a correction takes the place of an earlier reading of the same replicate.'); END;
CREATE TRIGGER photos_update_refused BEFORE UPDATE ON photos  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER photos_delete_refused BEFORE DELETE ON photos  BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: nothing in it is changed or deleted.'); END;
CREATE TRIGGER photos_replace_0_refused BEFORE INSERT ON photos WHEN EXISTS (SELECT 1 FROM photos WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: this row is in it already.'); END;
COMMIT;
