SET statement_timeout = 0;
SET lock_timeout = 0;
SET idle_in_transaction_session_timeout = 0;
SET client_encoding = 'UTF8';
SET standard_conforming_strings = on;
SELECT pg_catalog.set_config('search_path', '', false);
SET check_function_bodies = false;
SET xmloption = content;
SET client_min_messages = warning;
SET row_security = off;
CREATE FUNCTION public.refuse_event_edits() RETURNS trigger
    LANGUAGE plpgsql
    AS $$ BEGIN RAISE EXCEPTION 'events are never edited or removed'; END $$;
SET default_tablespace = '';
SET default_table_access_method = heap;
CREATE TABLE public.alembic_version (
    version_num character varying(32) NOT NULL
);
CREATE TABLE public.events (
    seq integer NOT NULL,
    kind character varying(16) NOT NULL,
    piece_key character varying(160),
    piece character varying(80),
    system character varying(80),
    at timestamp with time zone NOT NULL,
    payload json NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    recorded_by character varying(80) NOT NULL,
    batch character varying(120) NOT NULL
);
CREATE TABLE public.pieces (
    key character varying(160) NOT NULL,
    version integer NOT NULL,
    standing character varying(8) NOT NULL,
    arrived_on date,
    piece character varying(80) NOT NULL,
    strain character varying(80) NOT NULL,
    taxon character varying(120) NOT NULL,
    form character varying(16) NOT NULL,
    system character varying(80) NOT NULL,
    tank character varying(80) NOT NULL,
    length_mm double precision NOT NULL,
    width_mm double precision NOT NULL,
    height_mm double precision NOT NULL,
    parent character varying(80),
    spot character varying(80),
    heads integer,
    mounted_on character varying(200),
    cut_on date,
    acquired_on date,
    source character varying(200),
    permit character varying(200),
    par double precision,
    flow_cm_s double precision,
    note text,
    promised_to character varying(200),
    defaults_used character varying(200) NOT NULL
);
INSERT INTO public.alembic_version VALUES ('0001');
INSERT INTO public.events VALUES (1, 'acquired', 'e1', 'E1', NULL, '2026-01-10 00:00:00+00', '{"acquired_on":"2026-01-10","defaults_used":["form","height_mm"],"form":"branching","height_mm":72.0,"length_mm":80.0,"note":"mother","strain":"Ember","system":"north","tank":"n1","taxon":"Acropora sp.","width_mm":70.0}', '2027-01-15 09:30:00+00', 'import', 'import 7c7190611519c56c');
INSERT INTO public.events VALUES (2, 'cut', 'e2', 'E2', NULL, '2026-11-02 00:00:00+00', '{"cut_on":"2026-11-02","defaults_used":["form","width_mm","height_mm"],"form":"branching","height_mm":36.0,"length_mm":40.0,"note":"two\nlines","parent":"E1","strain":"Ember","system":"north","tank":"n1","taxon":"Acropora sp.","width_mm":40.0}', '2027-01-15 09:30:00+00', 'import', 'import 7c7190611519c56c');
INSERT INTO public.events VALUES (3, 'acquired', 'strasse', 'Straße', NULL, '2027-01-10 00:00:00+00', '{"defaults_used":["form","width_mm","height_mm"],"form":"plating","height_mm":21.0,"length_mm":60.0,"note":"=bites","strain":"Slate","system":"south","tank":"s1","taxon":"Pavona sp.","width_mm":60.0}', '2027-01-15 09:30:00+00', 'import', 'import 7c7190611519c56c');
INSERT INTO public.events VALUES (4, 'acquired', 'l1', 'L1', NULL, '2027-01-10 00:00:00+00', '{"defaults_used":["form","width_mm","height_mm"],"form":"plating","height_mm":10.5,"length_mm":30.0,"strain":"Slate","system":"south","tank":"s1","taxon":"Pavona sp.","width_mm":30.0}', '2027-01-15 09:30:00+00', 'import', 'import 7c7190611519c56c');
INSERT INTO public.events VALUES (5, 'water', NULL, NULL, 'north', '2027-01-02 00:00:00+00', '{"alkalinity_meq_l":3.1,"calcium_mg_l":null,"magnesium_mg_l":null,"nitrate_mg_l":null,"ph":null,"phosphate_mg_l":null,"salinity":35.0,"temperature_c":25.5}', '2027-01-15 09:30:00+00', 'import', 'import 7c7190611519c56c');
INSERT INTO public.events VALUES (6, 'inspected', 'e1', 'E1', NULL, '2027-01-03 00:00:00+00', '{"note":"bites","pest":"acropora_flatworm","result":"finding"}', '2027-01-15 09:30:00+00', 'import', 'import 7c7190611519c56c');
INSERT INTO public.events VALUES (7, 'moved', 'e1', 'E1', NULL, '2027-01-15 00:00:00+00', '{"system":"south","tank":"s1"}', '2027-01-15 09:30:00+00', 'import', 'import 8948dcc7e9d27744');
INSERT INTO public.events VALUES (8, 'measured', 'e1', 'E1', NULL, '2027-01-15 00:00:00+00', '{"length_mm":95.0}', '2027-01-15 09:30:00+00', 'import', 'import 8948dcc7e9d27744');
INSERT INTO public.events VALUES (9, 'reserved', 'e1', 'E1', NULL, '2027-01-15 00:00:00+00', '{"promised_to":"library"}', '2027-01-15 09:30:00+00', 'import', 'import 8948dcc7e9d27744');
INSERT INTO public.events VALUES (10, 'lost', 'l1', 'L1', NULL, '2027-01-15 00:00:00+00', '{}', '2027-01-15 09:30:00+00', 'import', 'import 8948dcc7e9d27744');
INSERT INTO public.pieces VALUES ('e2', 2, 'alive', NULL, 'E2', 'Ember', 'Acropora sp.', 'branching', 'north', 'n1', 40, 40, 36, 'E1', NULL, NULL, NULL, '2026-11-02', NULL, NULL, NULL, NULL, NULL, 'two
lines', NULL, 'form width_mm height_mm');
INSERT INTO public.pieces VALUES ('strasse', 3, 'alive', NULL, 'Straße', 'Slate', 'Pavona sp.', 'plating', 'south', 's1', 60, 60, 21, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, '=bites', NULL, 'form width_mm height_mm');
INSERT INTO public.pieces VALUES ('e1', 9, 'alive', '2027-01-15', 'E1', 'Ember', 'Acropora sp.', 'branching', 'south', 's1', 95, 70, 72, NULL, NULL, NULL, NULL, NULL, '2026-01-10', NULL, NULL, NULL, NULL, 'mother', 'library', 'form height_mm');
INSERT INTO public.pieces VALUES ('l1', 10, 'lost', NULL, 'L1', 'Slate', 'Pavona sp.', 'plating', 'south', 's1', 30, 30, 10.5, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'form width_mm height_mm');
ALTER TABLE ONLY public.alembic_version
    ADD CONSTRAINT alembic_version_pkey PRIMARY KEY (version_num);
ALTER TABLE ONLY public.events
    ADD CONSTRAINT events_pkey PRIMARY KEY (seq);
ALTER TABLE ONLY public.pieces
    ADD CONSTRAINT pieces_pkey PRIMARY KEY (key);
CREATE INDEX events_by_kind ON public.events USING btree (kind, seq);
CREATE INDEX events_by_piece ON public.events USING btree (piece_key, seq);
CREATE INDEX pieces_by_parent ON public.pieces USING btree (parent);
CREATE INDEX pieces_by_strain ON public.pieces USING btree (strain);
CREATE INDEX pieces_by_system ON public.pieces USING btree (system, tank);
CREATE TRIGGER events_are_not_edited BEFORE DELETE OR UPDATE ON public.events FOR EACH ROW EXECUTE FUNCTION public.refuse_event_edits();
