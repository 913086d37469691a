-- The first tables. Types are PostgreSQL's; SQLite takes INTEGER for both BIGINT and BOOLEAN.
CREATE TABLE "pool" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "name" TEXT NOT NULL,
  "zone" TEXT NOT NULL,
  "currency" TEXT NOT NULL,
  "place" TEXT NOT NULL,
  "phone" TEXT NOT NULL,
  "opening" TEXT NOT NULL,
  "swap_check_s" BIGINT NOT NULL CHECK (swap_check_s >= 0),
  "settings" TEXT NOT NULL,
  "demo" BOOLEAN NOT NULL,
  "revision" BIGINT NOT NULL,
  "next_settle_at" BIGINT NOT NULL,
  "version" BIGINT NOT NULL,
  "created_at" BIGINT NOT NULL
);
CREATE TABLE "production" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "name" TEXT NOT NULL,
  "ended_at" BIGINT,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id")
);
CREATE UNIQUE INDEX "production_pool_id_name" ON "production" ("pool_id", "name");
CREATE TABLE "unit" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "production_id" BIGINT NOT NULL,
  "name" TEXT NOT NULL,
  "kind" TEXT NOT NULL CHECK (kind IN ('main', 'second', 'splinter', 'pick-ups')),
  "base" TEXT NOT NULL,
  "phone" TEXT NOT NULL,
  "way_s" BIGINT NOT NULL CHECK (way_s >= 0),
  "ended_at" BIGINT,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("production_id") REFERENCES "production" ("id")
);
CREATE UNIQUE INDEX "unit_pool_id_production_id_name" ON "unit" ("pool_id", "production_id", "name");
CREATE TABLE "person" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "name" TEXT NOT NULL,
  "job" TEXT NOT NULL,
  "phone" TEXT NOT NULL,
  "unit_id" BIGINT,
  "ended_at" BIGINT,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("unit_id") REFERENCES "unit" ("id")
);
CREATE INDEX "person_pool_id_unit_id" ON "person" ("pool_id", "unit_id");
CREATE TABLE "account" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "login" TEXT NOT NULL,
  "name" TEXT NOT NULL,
  "password_hash" TEXT NOT NULL,
  "role" TEXT NOT NULL CHECK (role IN ('coordinator', 'mixer', 'assistant', 'supervisor')),
  "units" TEXT NOT NULL,
  "person_id" BIGINT,
  "demo" BOOLEAN NOT NULL,
  "ended_at" BIGINT,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("person_id") REFERENCES "person" ("id")
);
CREATE UNIQUE INDEX "account_login" ON "account" ("login");
CREATE INDEX "account_pool_id_id" ON "account" ("pool_id", "id");
CREATE TABLE "credential" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "account_id" BIGINT,
  "kind" TEXT NOT NULL CHECK (kind IN ('session', 'token', 'wall', 'invitation')),
  "digest" TEXT NOT NULL,
  "name" TEXT NOT NULL,
  "role" TEXT NOT NULL,
  "units" TEXT NOT NULL,
  "created_at" BIGINT NOT NULL,
  "expires_at" BIGINT NOT NULL,
  "ended_at" BIGINT,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("account_id") REFERENCES "account" ("id")
);
CREATE UNIQUE INDEX "credential_digest" ON "credential" ("digest");
CREATE INDEX "credential_pool_id_kind_id" ON "credential" ("pool_id", "kind", "id");
CREATE TABLE "sign_in_try" (
  "subject" TEXT NOT NULL PRIMARY KEY,
  "failures" BIGINT NOT NULL,
  "since" BIGINT NOT NULL
);
CREATE TABLE "kit_type" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "name" TEXT NOT NULL,
  "category" TEXT NOT NULL,
  "tracking" TEXT NOT NULL CHECK (tracking IN ('serial', 'count', 'consumable', 'frequency')),
  "count" BIGINT NOT NULL CHECK (count >= 0),
  "make" TEXT NOT NULL,
  "model" TEXT NOT NULL,
  "price_minor" BIGINT,
  "mass_g" BIGINT,
  "prep_s" BIGINT NOT NULL CHECK (prep_s >= 0),
  "check_in_s" BIGINT NOT NULL CHECK (check_in_s >= 0),
  "reorder_level" BIGINT,
  "rechargeable" BOOLEAN NOT NULL,
  "ways" BIGINT NOT NULL CHECK (ways >= 0),
  "traits" TEXT NOT NULL,
  "goes_with" TEXT NOT NULL,
  "substitutes" TEXT NOT NULL,
  "notes" TEXT NOT NULL,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id")
);
CREATE UNIQUE INDEX "kit_type_pool_id_name" ON "kit_type" ("pool_id", "name");
CREATE TABLE "box" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "number" TEXT NOT NULL,
  "name" TEXT NOT NULL,
  "inside_id" BIGINT,
  "place" TEXT NOT NULL,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("inside_id") REFERENCES "box" ("id")
);
CREATE UNIQUE INDEX "box_pool_id_number" ON "box" ("pool_id", "number");
CREATE TABLE "box_count" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "box_id" BIGINT NOT NULL,
  "kit_type_id" BIGINT NOT NULL,
  "quantity" BIGINT NOT NULL CHECK (quantity > 0),
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("box_id") REFERENCES "box" ("id"),
  FOREIGN KEY ("kit_type_id") REFERENCES "kit_type" ("id")
);
CREATE UNIQUE INDEX "box_count_pool_id_box_id_kit_type_id" ON "box_count" ("pool_id", "box_id", "kit_type_id");
CREATE TABLE "item" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "kit_type_id" BIGINT NOT NULL,
  "tag" TEXT NOT NULL,
  "barcode" TEXT NOT NULL,
  "serial_number" TEXT NOT NULL,
  "radio_number" TEXT NOT NULL,
  "owner" TEXT NOT NULL,
  "owner_kind" TEXT NOT NULL CHECK (owner_kind IN ('house', 'person', 'production')),
  "consent_required" BOOLEAN NOT NULL,
  "condition" TEXT NOT NULL CHECK (condition IN ('fit', 'suspect', 'damaged', 'in repair', 'lost', 'retired')),
  "home_box_id" BIGINT,
  "frequency_hz" BIGINT,
  "notes" TEXT NOT NULL,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("kit_type_id") REFERENCES "kit_type" ("id"),
  FOREIGN KEY ("home_box_id") REFERENCES "box" ("id")
);
CREATE UNIQUE INDEX "item_pool_id_tag" ON "item" ("pool_id", "tag");
CREATE INDEX "item_pool_id_kit_type_id_id" ON "item" ("pool_id", "kit_type_id", "id");
CREATE INDEX "item_pool_id_barcode" ON "item" ("pool_id", "barcode");
CREATE TABLE "shoot_day" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "unit_id" BIGINT NOT NULL,
  "day" BIGINT NOT NULL,
  "number" BIGINT NOT NULL,
  "call_s" BIGINT NOT NULL,
  "wrap_s" BIGINT NOT NULL,
  "location" TEXT NOT NULL,
  "latitude_e7" BIGINT,
  "longitude_e7" BIGINT,
  "inside" BOOLEAN,
  "wind_dm_s" BIGINT,
  "temperature_dc" BIGINT,
  "radios" BIGINT NOT NULL,
  "booms" BIGINT NOT NULL,
  "listeners" BIGINT NOT NULL,
  "mute" BOOLEAN NOT NULL,
  "pre_rig_s" BIGINT NOT NULL,
  "strike_s" BIGINT NOT NULL,
  "notes" TEXT NOT NULL,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("unit_id") REFERENCES "unit" ("id"),
  CHECK (wrap_s > call_s)
);
CREATE UNIQUE INDEX "shoot_day_pool_id_unit_id_day" ON "shoot_day" ("pool_id", "unit_id", "day");
CREATE INDEX "shoot_day_pool_id_wrap_s" ON "shoot_day" ("pool_id", "wrap_s");
CREATE TABLE "out_of_service" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "kit_type_id" BIGINT NOT NULL,
  "item_id" BIGINT,
  "quantity" BIGINT NOT NULL CHECK (quantity > 0),
  "start_s" BIGINT NOT NULL,
  "end_s" BIGINT NOT NULL,
  "reason" TEXT NOT NULL,
  "condition" TEXT,
  "recorded_at" BIGINT NOT NULL,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("kit_type_id") REFERENCES "kit_type" ("id"),
  FOREIGN KEY ("item_id") REFERENCES "item" ("id"),
  CHECK (end_s > start_s),
  CHECK (item_id IS NULL OR quantity = 1)
);
CREATE INDEX "out_of_service_pool_id_kit_type_id_end_s_start_s" ON "out_of_service" ("pool_id", "kit_type_id", "end_s", "start_s");
CREATE TABLE "booking" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "unit_id" BIGINT NOT NULL,
  "state" TEXT NOT NULL CHECK (state IN ('pencilled', 'confirmed', 'released', 'undone', 'lapsed')),
  "start_s" BIGINT NOT NULL,
  "end_s" BIGINT NOT NULL,
  "purpose" TEXT NOT NULL,
  "who_pays" TEXT NOT NULL,
  "order_number" TEXT NOT NULL,
  "pencil_expires_at" BIGINT,
  "created_at" BIGINT NOT NULL,
  "created_by_id" BIGINT,
  "undo_until" BIGINT,
  "version" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("unit_id") REFERENCES "unit" ("id"),
  FOREIGN KEY ("created_by_id") REFERENCES "account" ("id"),
  CHECK (end_s > start_s)
);
CREATE INDEX "booking_pool_id_end_s_start_s" ON "booking" ("pool_id", "end_s", "start_s");
CREATE INDEX "booking_pool_id_unit_id_end_s" ON "booking" ("pool_id", "unit_id", "end_s");
CREATE INDEX "booking_pencilled" ON "booking" ("pool_id", "pencil_expires_at") WHERE state = 'pencilled';
CREATE TABLE "line" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "booking_id" BIGINT NOT NULL,
  "unit_id" BIGINT NOT NULL,
  "kit_type_id" BIGINT NOT NULL,
  "item_id" BIGINT,
  "quantity" BIGINT NOT NULL CHECK (quantity >= 0),
  "start_s" BIGINT NOT NULL,
  "end_s" BIGINT NOT NULL,
  "from_s" BIGINT NOT NULL,
  "until_s" BIGINT NOT NULL,
  "prep_s" BIGINT,
  "check_in_s" BIGINT,
  "state" TEXT NOT NULL CHECK (state IN ('pencilled', 'confirmed', 'released', 'undone', 'lapsed')),
  "rank" BIGINT NOT NULL,
  "released" BIGINT NOT NULL CHECK (released >= 0),
  "gone" BIGINT NOT NULL CHECK (gone >= 0),
  "straight_from_id" BIGINT,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("booking_id") REFERENCES "booking" ("id"),
  FOREIGN KEY ("unit_id") REFERENCES "unit" ("id"),
  FOREIGN KEY ("kit_type_id") REFERENCES "kit_type" ("id"),
  FOREIGN KEY ("item_id") REFERENCES "item" ("id"),
  FOREIGN KEY ("straight_from_id") REFERENCES "line" ("id"),
  CHECK (end_s > start_s AND from_s <= start_s AND until_s >= end_s),
  CHECK (item_id IS NULL OR quantity <= 1)
);
CREATE INDEX "line_pool_id_kit_type_id_until_s_from_s_quantity" ON "line" ("pool_id", "kit_type_id", "until_s", "from_s", "quantity" /* SQLite: , "gone", "state", "unit_id", "start_s", "end_s" */);
CREATE INDEX "line_pool_id_booking_id" ON "line" ("pool_id", "booking_id");
CREATE INDEX "line_straight" ON "line" ("pool_id", "straight_from_id") WHERE straight_from_id IS NOT NULL;
CREATE TABLE "line_item" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "line_id" BIGINT NOT NULL,
  "item_id" BIGINT NOT NULL,
  "left_at" BIGINT,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("line_id") REFERENCES "line" ("id"),
  FOREIGN KEY ("item_id") REFERENCES "item" ("id")
);
CREATE INDEX "line_item_pool_id_line_id_item_id" ON "line_item" ("pool_id", "line_id", "item_id");
CREATE TABLE "custody" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "kit_type_id" BIGINT NOT NULL,
  "item_id" BIGINT,
  "quantity" BIGINT NOT NULL CHECK (quantity > 0),
  "unit_id" BIGINT NOT NULL,
  "person" TEXT NOT NULL,
  "booking_id" BIGINT,
  "line_id" BIGINT,
  "out_at" BIGINT NOT NULL,
  "due_at" BIGINT NOT NULL,
  "promised_at" BIGINT,
  "back_at" BIGINT,
  "condition" TEXT,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("kit_type_id") REFERENCES "kit_type" ("id"),
  FOREIGN KEY ("item_id") REFERENCES "item" ("id"),
  FOREIGN KEY ("unit_id") REFERENCES "unit" ("id"),
  FOREIGN KEY ("booking_id") REFERENCES "booking" ("id"),
  FOREIGN KEY ("line_id") REFERENCES "line" ("id"),
  CHECK (item_id IS NULL OR quantity = 1)
);
CREATE INDEX "custody_pool_id_line_id" ON "custody" ("pool_id", "line_id");
CREATE INDEX "custody_pool_id_unit_id_back_at" ON "custody" ("pool_id", "unit_id", "back_at");
CREATE INDEX "custody_pool_id_item_id_back_at" ON "custody" ("pool_id", "item_id", "back_at");
CREATE UNIQUE INDEX "custody_one_open" ON "custody" ("pool_id", "item_id") WHERE back_at IS NULL;
CREATE INDEX "custody_open" ON "custody" ("pool_id", "kit_type_id") WHERE back_at IS NULL;
CREATE TABLE "custody_event" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "key" TEXT NOT NULL,
  "account_id" BIGINT,
  "kind" TEXT NOT NULL,
  "happened_at" BIGINT NOT NULL,
  "recorded_at" BIGINT NOT NULL,
  "body_digest" TEXT NOT NULL,
  "outcome" TEXT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("account_id") REFERENCES "account" ("id")
);
CREATE UNIQUE INDEX "custody_event_pool_id_key" ON "custody_event" ("pool_id", "key");
CREATE INDEX "custody_event_pool_id_id" ON "custody_event" ("pool_id", "id");
CREATE TABLE "reminder" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "key" TEXT NOT NULL,
  "kind" TEXT NOT NULL,
  "stage" TEXT NOT NULL,
  "severity" TEXT NOT NULL,
  "to" TEXT NOT NULL,
  "unit_id" BIGINT,
  "booking_id" BIGINT,
  "due_at" BIGINT NOT NULL,
  "about" TEXT NOT NULL,
  "state" TEXT NOT NULL CHECK (state IN ('due', 'seen', 'done', 'ended')),
  "told_at" BIGINT NOT NULL,
  "seen_at" BIGINT,
  "seen_by_id" BIGINT,
  "done_at" BIGINT,
  "done_by_id" BIGINT,
  "ended_at" BIGINT,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("unit_id") REFERENCES "unit" ("id"),
  FOREIGN KEY ("booking_id") REFERENCES "booking" ("id"),
  FOREIGN KEY ("seen_by_id") REFERENCES "account" ("id"),
  FOREIGN KEY ("done_by_id") REFERENCES "account" ("id")
);
CREATE UNIQUE INDEX "reminder_pool_id_key" ON "reminder" ("pool_id", "key");
CREATE INDEX "reminder_pool_id_state_due_at" ON "reminder" ("pool_id", "state", "due_at");
CREATE TABLE "journal" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "seq" BIGINT NOT NULL,
  "at" BIGINT NOT NULL,
  "account_id" BIGINT,
  "verb" TEXT NOT NULL,
  "subject_kind" TEXT NOT NULL,
  "subject" BIGINT NOT NULL,
  "before" TEXT,
  "after" TEXT,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id"),
  FOREIGN KEY ("account_id") REFERENCES "account" ("id")
);
CREATE INDEX "journal_pool_id_seq" ON "journal" ("pool_id", "seq");
CREATE INDEX "journal_pool_id_subject_kind_subject_seq" ON "journal" ("pool_id", "subject_kind", "subject", "seq");
CREATE TABLE "idempotency_key" (
  "id" BIGINT NOT NULL PRIMARY KEY,
  "pool_id" BIGINT NOT NULL,
  "owner" BIGINT NOT NULL,
  "key" TEXT NOT NULL,
  "body_digest" TEXT NOT NULL,
  "outcome" TEXT NOT NULL,
  "created_at" BIGINT NOT NULL,
  FOREIGN KEY ("pool_id") REFERENCES "pool" ("id")
);
CREATE UNIQUE INDEX "idempotency_key_pool_id_owner_key" ON "idempotency_key" ("pool_id", "owner", "key");
CREATE TABLE "lease" (
  "name" TEXT NOT NULL PRIMARY KEY,
  "holder" TEXT NOT NULL,
  "fence" BIGINT NOT NULL,
  "until_ms" BIGINT NOT NULL
);
