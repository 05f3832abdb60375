BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE customer_order (
	entry_id INTEGER NOT NULL, 
	order_ref VARCHAR NOT NULL, 
	customer VARCHAR NOT NULL, 
	contact VARCHAR NOT NULL, 
	destination TEXT NOT NULL, 
	ship_to TEXT NOT NULL, 
	wanted_on DATE, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "customer_order" VALUES(15,'O-1','Invented Shop','','','',NULL);
INSERT INTO "customer_order" VALUES(16,'O-2','Invented Shop','','','',NULL);
CREATE TABLE decision (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	decision VARCHAR NOT NULL, 
	reason TEXT NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "decision" VALUES(12,6,'release','dry, no zap');
CREATE TABLE declared_weight (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	mass_mg BIGINT NOT NULL, 
	reason TEXT NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "declared_weight" VALUES(11,6,110000,'dried more than planned');
CREATE TABLE entry (
	id INTEGER NOT NULL, 
	kind VARCHAR NOT NULL, 
	happened_on DATE NOT NULL, 
	entered_at DATETIME NOT NULL, 
	"by" VARCHAR NOT NULL, 
	note TEXT NOT NULL, 
	summary TEXT NOT NULL, 
	client_key VARCHAR, 
	client_sha256 VARCHAR, 
	undoes INTEGER, 
	lot_id INTEGER, 
	prev_hash VARCHAR NOT NULL, 
	hash VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (client_key), 
	UNIQUE (undoes), 
	FOREIGN KEY(undoes) REFERENCES entry (id)
);
INSERT INTO "entry" VALUES(1,'recipe','2026-09-01','2026-09-01 08:00:00.000000','Invented Maker','','recipe DRF version 1',NULL,NULL,NULL,NULL,'0000000000000000000000000000000000000000000000000000000000000000','2d695325e1355de366dd945ab61e5cae2f53976d763b6ee4fa4dfcbb59e38e8f');
INSERT INTO "entry" VALUES(2,'receive','2026-09-01','2026-09-01 08:00:00.000000','Invented Maker','','received 8000 g suet as RAW1 from Own',NULL,NULL,NULL,2,'2d695325e1355de366dd945ab61e5cae2f53976d763b6ee4fa4dfcbb59e38e8f','c36e827ea0d3b3fa1d7fc024e4aa0d88ede821165ac1066bc55b1dc0fe53e905');
INSERT INTO "entry" VALUES(3,'receive','2026-09-01','2026-09-01 08:00:00.000000','Invented Maker','','received 5000 g beef-tallow as TAL1 from animal ewe 12',NULL,NULL,NULL,3,'c36e827ea0d3b3fa1d7fc024e4aa0d88ede821165ac1066bc55b1dc0fe53e905','29ca5174e5b3916e36d9b1f4c95c2d9e609607e9f14c883135a68f895febefd6');
INSERT INTO "entry" VALUES(4,'receive','2026-09-01','2026-09-01 08:00:00.000000','Invented Maker','','received 1000 g naoh as LYE1 from Typo',NULL,NULL,NULL,4,'29ca5174e5b3916e36d9b1f4c95c2d9e609607e9f14c883135a68f895febefd6','8859904bf66c5d0716e442689111660cbc3a5e4015b22801e0147954d3588809');
INSERT INTO "entry" VALUES(5,'undo','2026-09-01','2026-09-01 08:00:00.000000','Invented Maker','wrong mass','undid entry 4 (received 1000 g naoh as LYE1 from Typo)',NULL,NULL,4,4,'8859904bf66c5d0716e442689111660cbc3a5e4015b22801e0147954d3588809','818d2306412f6be84b52710abb00b5b07cd008d8ccedb6716ebcd57bedd23b2d');
INSERT INTO "entry" VALUES(6,'pour','2026-09-02','2026-09-02 08:00:00.000000','Invented Maker','','poured 1300 g of DRF version 1 as DRF1',NULL,NULL,NULL,6,'818d2306412f6be84b52710abb00b5b07cd008d8ccedb6716ebcd57bedd23b2d','7fe5e6c4c93cfe083ad7a33732293f57342905ed9b27fa7d475511e7c05ab312');
INSERT INTO "entry" VALUES(7,'unmould','2026-09-03','2026-09-03 08:00:00.000000','Invented Maker','','unmoulded 12 bars of DRF1 to rack, 1 rejected',NULL,NULL,NULL,6,'7fe5e6c4c93cfe083ad7a33732293f57342905ed9b27fa7d475511e7c05ab312','b283fb860f06fdd93a8174a2cd6cd8adeb6f0e7fe87f9175f5ecfbda2d6a8846');
INSERT INTO "entry" VALUES(8,'weigh','2026-09-10','2026-09-10 08:00:00.000000','Invented Maker','','weighed 12 bars of DRF1: 1100 g','scale-1','aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa',NULL,6,'b283fb860f06fdd93a8174a2cd6cd8adeb6f0e7fe87f9175f5ecfbda2d6a8846','e223d3b751e694d723851c50e2a19ddd0415f27a60f083747d38ccb3d96d5802');
INSERT INTO "entry" VALUES(9,'test','2026-09-30','2026-09-30 08:00:00.000000','Invented Maker','','tongue test of DRF1 passed no zap',NULL,NULL,NULL,6,'e223d3b751e694d723851c50e2a19ddd0415f27a60f083747d38ccb3d96d5802','0772ab1b47dbd801a203b7e9f93f342ecf0741b32ecb1ce497221565b75fcf39');
INSERT INTO "entry" VALUES(10,'photo','2026-09-30','2026-09-30 08:00:00.000000','Invented Maker','','photo of DRF1, SHA-256 c30f0db3f7b6f2cb',NULL,NULL,NULL,6,'0772ab1b47dbd801a203b7e9f93f342ecf0741b32ecb1ce497221565b75fcf39','4ccc18725f0c6c6b4fcca2d8cc6d60e99cadc66c9e787dc0d67a0622447df938');
INSERT INTO "entry" VALUES(11,'declare','2026-09-30','2026-09-30 08:00:00.000000','Invented Maker','','declared 110 g a bar of DRF1: dried more than planned',NULL,NULL,NULL,6,'4ccc18725f0c6c6b4fcca2d8cc6d60e99cadc66c9e787dc0d67a0622447df938','dc9c22226eac96e8120641f8b7a8724c80d9a51ff29ffae203c8cc36c119889e');
INSERT INTO "entry" VALUES(12,'release','2026-10-01','2026-10-01 08:00:00.000000','Invented Maker','','release of DRF1: dry, no zap',NULL,NULL,NULL,6,'dc9c22226eac96e8120641f8b7a8724c80d9a51ff29ffae203c8cc36c119889e','a9f4336fc109d00f93049196d28dcf4e99a70c1baf78a5d8db1668348f341465');
INSERT INTO "entry" VALUES(13,'place','2026-10-01','2026-10-01 08:00:00.000000','Invented Maker','','new place rack-2 (rack)',NULL,NULL,NULL,NULL,'a9f4336fc109d00f93049196d28dcf4e99a70c1baf78a5d8db1668348f341465','71c0e9149ab41dfda8152e3cd75245816a0688b9ae800fdec35b18f6532147c8');
INSERT INTO "entry" VALUES(14,'move','2026-10-01','2026-10-01 08:00:00.000000','Invented Maker','','moved 4 bars of DRF1, rack to rack-2',NULL,NULL,NULL,6,'71c0e9149ab41dfda8152e3cd75245816a0688b9ae800fdec35b18f6532147c8','f8411405eb10ff127b03a9066aefa1e29f809b84b889d07fd96838d3b20e4871');
INSERT INTO "entry" VALUES(15,'order','2026-10-02','2026-10-02 08:00:00.000000','Invented Maker','','order O-1 from Invented Shop: 3 bars',NULL,NULL,NULL,NULL,'f8411405eb10ff127b03a9066aefa1e29f809b84b889d07fd96838d3b20e4871','2446893112f0b0884e74e4e95cb237e1ed6db555fabcedaf6bcb8832720926d4');
INSERT INTO "entry" VALUES(16,'order','2026-10-02','2026-10-02 08:00:00.000000','Invented Maker','','order O-2 from Invented Shop: 3 bars',NULL,NULL,NULL,NULL,'2446893112f0b0884e74e4e95cb237e1ed6db555fabcedaf6bcb8832720926d4','c0b2226eee77adbf3cd42009e16bedc7ada316a49a2816fcccc9c661397a3649');
INSERT INTO "entry" VALUES(17,'reserve','2026-10-02','2026-10-02 08:00:00.000000','Invented Maker','','reserved 3 bars for order O-1',NULL,NULL,NULL,NULL,'c0b2226eee77adbf3cd42009e16bedc7ada316a49a2816fcccc9c661397a3649','4e1bb913b6d0a4f05c46a7c85290554b4603a61014fd5b5823df2c7b3f4dbe5b');
INSERT INTO "entry" VALUES(18,'spend','2026-10-02','2026-10-02 08:00:00.000000','Invented Maker','','spent 95 minutes of work on DRF1',NULL,NULL,NULL,6,'4e1bb913b6d0a4f05c46a7c85290554b4603a61014fd5b5823df2c7b3f4dbe5b','1f583cf07aef8ba3fcf2ac2eb925cde61de00e03c41696dc176169b62bf02167');
INSERT INTO "entry" VALUES(19,'price','2026-10-02','2026-10-02 08:00:00.000000','Invented Maker','','price of DRF, wholesale: 4.50 EUR a bar',NULL,NULL,NULL,NULL,'1f583cf07aef8ba3fcf2ac2eb925cde61de00e03c41696dc176169b62bf02167','c3ee66c672554b4a1200a41e04da5f4237ad146404a66ee3a26a3dae3408c7a0');
INSERT INTO "entry" VALUES(20,'ship','2026-10-03','2026-10-03 08:00:00.000000','Invented Maker','','shipped 3 bars of DRF1, rack to customer (Invented Shop)',NULL,NULL,NULL,6,'c3ee66c672554b4a1200a41e04da5f4237ad146404a66ee3a26a3dae3408c7a0','20c9cca38272f595f60d874c73a2cadc776c15be0b3743906c9ffb8ef29b3223');
INSERT INTO "entry" VALUES(21,'invoice','2026-10-03','2026-10-03 08:00:00.000000','Invented Maker','','invoice 2026-0001 for Invented Shop',NULL,NULL,NULL,NULL,'20c9cca38272f595f60d874c73a2cadc776c15be0b3743906c9ffb8ef29b3223','dcbb516b735cf9a0296b4902c52c5b454ee093b6a786be934279300822f7eed5');
INSERT INTO "entry" VALUES(22,'credit note','2026-10-03','2026-10-03 08:00:00.000000','Invented Maker','','credit note 2026-0002 for Invented Shop',NULL,NULL,NULL,NULL,'dcbb516b735cf9a0296b4902c52c5b454ee093b6a786be934279300822f7eed5','cb41654dbe64ddf5f60259f55efcd6d1a6873103f55aadd0d5418d2749a867c5');
INSERT INTO "entry" VALUES(23,'give','2026-10-03','2026-10-03 08:00:00.000000','Invented Maker','','gave 1 bar of DRF1, rack to given (Invented Neighbour)',NULL,NULL,NULL,6,'cb41654dbe64ddf5f60259f55efcd6d1a6873103f55aadd0d5418d2749a867c5','63646fc82d2683414ec65ae0757e227c0ea1bb0d87082cdf2d0387d97e66d660');
INSERT INTO "entry" VALUES(24,'close','2026-10-03','2026-10-03 08:00:00.000000','Invented Maker','','order O-1 closed: shipped',NULL,NULL,NULL,NULL,'63646fc82d2683414ec65ae0757e227c0ea1bb0d87082cdf2d0387d97e66d660','618b2011342fe1022ec58b54b30a5928026994271b14ab612818097020a6d8a7');
INSERT INTO "entry" VALUES(25,'count','2026-10-04','2026-10-04 08:00:00.000000','Invented Maker','one eaten by mice','counted 3 bars of DRF1 at rack, booked 4 bars',NULL,NULL,NULL,6,'618b2011342fe1022ec58b54b30a5928026994271b14ab612818097020a6d8a7','632cb20b186185595dfa6d6ce38923b0f8a543f328a3330fe6c93a1bd0492e01');
INSERT INTO "entry" VALUES(26,'labels','2026-10-04','2026-10-04 08:00:00.000000','Invented Maker','','labels of DRF1: 24 printed, 1 spoiled, 12 used',NULL,NULL,NULL,6,'632cb20b186185595dfa6d6ce38923b0f8a543f328a3330fe6c93a1bd0492e01','372f79d7bd47d44d7c3a27fd2d4cb3352ae9544f5e4e2f6c09800f5ab58e5711');
INSERT INTO "entry" VALUES(27,'level','2026-10-04','2026-10-04 08:00:00.000000','Invented Maker','','warn when beef-tallow falls under 1000 g',NULL,NULL,NULL,NULL,'372f79d7bd47d44d7c3a27fd2d4cb3352ae9544f5e4e2f6c09800f5ab58e5711','a131e62122b337e16ef7208bbec68819f0e528ca5ea9d4ef456f658b6842ac6c');
INSERT INTO "entry" VALUES(28,'want','2026-10-04','2026-10-04 08:00:00.000000','Invented Maker','','Invented Waiter waits for 4 bars of DRF',NULL,NULL,NULL,NULL,'a131e62122b337e16ef7208bbec68819f0e528ca5ea9d4ef456f658b6842ac6c','efcbea9298b564f343a59966749d69057cc5a91f6081057cd05f09f56d82dddc');
INSERT INTO "entry" VALUES(29,'take in','2026-10-04','2026-10-04 08:00:00.000000','Invented Maker','','took in 1 pages of notes.csv',NULL,NULL,NULL,NULL,'efcbea9298b564f343a59966749d69057cc5a91f6081057cd05f09f56d82dddc','c789941514dcb049ad41ab73229aeb284bbd869eb8e66d47cabc01077f8c0fbc');
INSERT INTO "entry" VALUES(30,'retire','2026-10-05','2026-10-05 08:00:00.000000','Invented Maker','','recipe DRF retired: invented reason',NULL,NULL,NULL,NULL,'c789941514dcb049ad41ab73229aeb284bbd869eb8e66d47cabc01077f8c0fbc','d970ac2f70a9125cb461a29ec9bdacc5981c118dd527344607794c046685ae46');
INSERT INTO "entry" VALUES(31,'recall','2026-10-05','2026-10-05 08:00:00.000000','Invented Maker','','practice recall of TAL1: 92.3 % accounted for',NULL,NULL,NULL,3,'d970ac2f70a9125cb461a29ec9bdacc5981c118dd527344607794c046685ae46','88e65eacbedaf4d25a5a46a458dae0a12df9465de27664035547ee16dcef1501');
CREATE TABLE invoice (
	entry_id INTEGER NOT NULL, 
	series VARCHAR NOT NULL, 
	number INTEGER NOT NULL, 
	kind VARCHAR NOT NULL, 
	customer VARCHAR NOT NULL, 
	address TEXT NOT NULL, 
	order_ref VARCHAR NOT NULL, 
	credits INTEGER NOT NULL, 
	reason TEXT NOT NULL, 
	paid VARCHAR NOT NULL, 
	due_on DATE, 
	currency VARCHAR NOT NULL, 
	discount_cents BIGINT NOT NULL, 
	postage_cents BIGINT NOT NULL, 
	tax_cents BIGINT NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "invoice" VALUES(21,'2026',1,'invoice','Invented Shop','','',0,'','cash','2026-11-01','EUR',50,0,0);
INSERT INTO "invoice" VALUES(22,'2026',2,'credit note','Invented Shop','','',21,'wrong price','',NULL,'EUR',-50,0,0);
CREATE TABLE invoice_line (
	entry_id INTEGER NOT NULL, 
	line INTEGER NOT NULL, 
	sold INTEGER NOT NULL, 
	recipe_code VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	lot_code VARCHAR NOT NULL, 
	bars INTEGER NOT NULL, 
	price_cents BIGINT NOT NULL, 
	PRIMARY KEY (entry_id, line), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(sold) REFERENCES entry (id)
);
INSERT INTO "invoice_line" VALUES(21,1,20,'DRF','Driftwood','DRF1',3,450);
INSERT INTO "invoice_line" VALUES(22,1,20,'DRF','Driftwood','DRF1',-3,450);
CREATE TABLE label_run (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	printed INTEGER NOT NULL, 
	spoiled INTEGER NOT NULL, 
	used INTEGER NOT NULL, 
	face VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "label_run" VALUES(26,6,24,1,12,'band');
CREATE TABLE lot (
	id INTEGER NOT NULL, 
	code VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	item VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "lot" VALUES(2,'RAW1','ingredient','suet');
INSERT INTO "lot" VALUES(3,'TAL1','ingredient','beef-tallow');
INSERT INTO "lot" VALUES(4,'LYE1','ingredient','naoh');
INSERT INTO "lot" VALUES(6,'DRF1','batch','DRF');
CREATE TABLE movement (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	unit VARCHAR NOT NULL, 
	quantity BIGINT NOT NULL, 
	from_place VARCHAR NOT NULL, 
	to_place VARCHAR NOT NULL, 
	reason TEXT NOT NULL, 
	customer VARCHAR NOT NULL, 
	order_ref VARCHAR NOT NULL, 
	destination TEXT NOT NULL, 
	counted BIGINT, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "movement" VALUES(14,6,'bars',4,'rack','rack-2','','','','',NULL);
INSERT INTO "movement" VALUES(20,6,'bars',3,'rack','customer','','Invented Shop','O-1','Quay 3',NULL);
INSERT INTO "movement" VALUES(23,6,'bars',1,'rack','given','gift','Invented Neighbour','','',NULL);
INSERT INTO "movement" VALUES(25,6,'bars',1,'rack','count-difference','one eaten by mice','','','',3);
CREATE TABLE old_page (
	entry_id INTEGER NOT NULL, 
	line INTEGER NOT NULL, 
	source VARCHAR NOT NULL, 
	stands_at VARCHAR NOT NULL, 
	said TEXT NOT NULL, 
	said_sha256 VARCHAR NOT NULL, 
	poured_on DATE, 
	variety VARCHAR NOT NULL, 
	bars INTEGER, 
	understood_json TEXT NOT NULL, 
	PRIMARY KEY (entry_id, line), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "old_page" VALUES(29,1,'notes.csv','line 2','x','0000000000000000000000000000000000000000000000000000000000000000',NULL,'',NULL,'');
CREATE TABLE order_close (
	entry_id INTEGER NOT NULL, 
	order_id INTEGER NOT NULL, 
	outcome VARCHAR NOT NULL, 
	reason TEXT NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(order_id) REFERENCES customer_order (entry_id)
);
INSERT INTO "order_close" VALUES(24,15,'shipped','');
CREATE TABLE order_line (
	entry_id INTEGER NOT NULL, 
	line INTEGER NOT NULL, 
	recipe_code VARCHAR NOT NULL, 
	bars INTEGER NOT NULL, 
	price_cents BIGINT, 
	currency VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id, line), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "order_line" VALUES(15,1,'DRF',3,450,'EUR');
INSERT INTO "order_line" VALUES(16,1,'DRF',3,450,'EUR');
CREATE TABLE photo (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	width INTEGER NOT NULL, 
	height INTEGER NOT NULL, 
	sha256 VARCHAR NOT NULL, 
	jpeg TEXT NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "photo" VALUES(10,6,4,3,'c30f0db3f7b6f2cb33e5845a2829da720b5d98d4440ed3be6f745619b0df6204','/9hpbnZlbnRlZP/Z');
CREATE TABLE place (
	name VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	capacity_bars INTEGER, 
	entry_id INTEGER, 
	PRIMARY KEY (name), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "place" VALUES('supplier','supplier',NULL,NULL);
INSERT INTO "place" VALUES('store','store',NULL,NULL);
INSERT INTO "place" VALUES('pot','pot',NULL,NULL);
INSERT INTO "place" VALUES('mould','mould',NULL,NULL);
INSERT INTO "place" VALUES('rack','rack',NULL,NULL);
INSERT INTO "place" VALUES('shelf','shelf',NULL,NULL);
INSERT INTO "place" VALUES('retained','retained',NULL,NULL);
INSERT INTO "place" VALUES('returned','returned',NULL,NULL);
INSERT INTO "place" VALUES('customer','customer',NULL,NULL);
INSERT INTO "place" VALUES('given','given',NULL,NULL);
INSERT INTO "place" VALUES('waste','waste',NULL,NULL);
INSERT INTO "place" VALUES('count-difference','count-difference',NULL,NULL);
INSERT INTO "place" VALUES('rack-2','rack',40,13);
CREATE TABLE posting (
	entry_id INTEGER NOT NULL, 
	line INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	unit VARCHAR NOT NULL, 
	place VARCHAR NOT NULL, 
	quantity BIGINT NOT NULL, 
	PRIMARY KEY (entry_id, line), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id), 
	FOREIGN KEY(place) REFERENCES place (name)
);
INSERT INTO "posting" VALUES(2,1,2,'mg','supplier',-8000000);
INSERT INTO "posting" VALUES(2,2,2,'mg','store',8000000);
INSERT INTO "posting" VALUES(3,1,3,'mg','supplier',-5000000);
INSERT INTO "posting" VALUES(3,2,3,'mg','store',5000000);
INSERT INTO "posting" VALUES(3,3,2,'mg','store',-8000000);
INSERT INTO "posting" VALUES(3,4,2,'mg','pot',8000000);
INSERT INTO "posting" VALUES(4,1,4,'mg','supplier',-1000000);
INSERT INTO "posting" VALUES(4,2,4,'mg','store',1000000);
INSERT INTO "posting" VALUES(5,1,4,'mg','supplier',1000000);
INSERT INTO "posting" VALUES(5,2,4,'mg','store',-1000000);
INSERT INTO "posting" VALUES(6,1,3,'mg','store',-1000000);
INSERT INTO "posting" VALUES(6,2,3,'mg','pot',1000000);
INSERT INTO "posting" VALUES(6,3,6,'mg','pot',-1300000);
INSERT INTO "posting" VALUES(6,4,6,'mg','mould',1300000);
INSERT INTO "posting" VALUES(7,1,6,'mg','mould',-1300000);
INSERT INTO "posting" VALUES(7,2,6,'mg','pot',1300000);
INSERT INTO "posting" VALUES(7,3,6,'bars','pot',-13);
INSERT INTO "posting" VALUES(7,4,6,'bars','rack',12);
INSERT INTO "posting" VALUES(7,5,6,'bars','waste',1);
INSERT INTO "posting" VALUES(14,1,6,'bars','rack',-4);
INSERT INTO "posting" VALUES(14,2,6,'bars','rack-2',4);
INSERT INTO "posting" VALUES(20,1,6,'bars','rack',-3);
INSERT INTO "posting" VALUES(20,2,6,'bars','customer',3);
INSERT INTO "posting" VALUES(23,1,6,'bars','rack',-1);
INSERT INTO "posting" VALUES(23,2,6,'bars','given',1);
INSERT INTO "posting" VALUES(25,1,6,'bars','count-difference',1);
INSERT INTO "posting" VALUES(25,2,6,'bars','rack',-1);
CREATE TABLE pour (
	entry_id INTEGER NOT NULL, 
	recipe_entry_id INTEGER NOT NULL, 
	planned_json TEXT NOT NULL, 
	judgement_json TEXT NOT NULL, 
	batter_mg BIGINT NOT NULL, 
	lye_c FLOAT, 
	fats_c FLOAT, 
	peak_c FLOAT, 
	room_c FLOAT, 
	room_rh FLOAT, 
	trace_minutes FLOAT, 
	cooled_minutes FLOAT, 
	seized BOOLEAN NOT NULL, 
	mould VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(recipe_entry_id) REFERENCES recipe_version (entry_id)
);
INSERT INTO "pour" VALUES(6,1,'{}','{}',1300000,38.5,NULL,NULL,NULL,61.25,NULL,NULL,0,'');
CREATE TABLE price (
	entry_id INTEGER NOT NULL, 
	recipe_code VARCHAR NOT NULL, 
	buyer VARCHAR NOT NULL, 
	price_cents BIGINT, 
	currency VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "price" VALUES(19,'DRF','wholesale',450,'EUR');
CREATE TABLE recall_run (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	practice BOOLEAN NOT NULL, 
	report_json TEXT NOT NULL, 
	seconds FLOAT NOT NULL, 
	accounted_percent FLOAT NOT NULL, 
	hazard TEXT NOT NULL, 
	remedy TEXT NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "recall_run" VALUES(31,3,1,'{}',0.25,92.3,'','');
CREATE TABLE receipt (
	entry_id INTEGER NOT NULL, 
	ingredient VARCHAR NOT NULL, 
	mass_mg BIGINT NOT NULL, 
	supplier VARCHAR NOT NULL, 
	supplier_lot VARCHAR NOT NULL, 
	cost_cents BIGINT, 
	currency VARCHAR NOT NULL, 
	best_before DATE, 
	sv_low FLOAT, 
	sv_nominal FLOAT, 
	sv_high FLOAT, 
	certificate VARCHAR NOT NULL, 
	animal VARCHAR NOT NULL, 
	raw_fat_mg BIGINT, 
	acid_value FLOAT, 
	moisture_percent FLOAT, 
	place VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "receipt" VALUES(2,'suet',8000000,'Own','',NULL,'',NULL,NULL,NULL,NULL,'','',NULL,NULL,NULL,'store');
INSERT INTO "receipt" VALUES(3,'beef-tallow',5000000,'','',1250,'EUR','2027-09-01',194.0,196.5,199.0,'','ewe 12',8000000,1.5,NULL,'store');
INSERT INTO "receipt" VALUES(4,'naoh',1000000,'Typo','',NULL,'',NULL,NULL,NULL,NULL,'','',NULL,NULL,NULL,'store');
CREATE TABLE recipe_version (
	entry_id INTEGER NOT NULL, 
	code VARCHAR NOT NULL, 
	version INTEGER NOT NULL, 
	text TEXT NOT NULL, 
	sha256 VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "recipe_version" VALUES(1,'DRF',1,'code = ''DRF''
name = ''Driftwood é''
','9aab0c07f0b83239751d662319205f6afcbd98db6813d8c9e6aaa5062146d0d0');
CREATE TABLE reorder_level (
	entry_id INTEGER NOT NULL, 
	item VARCHAR NOT NULL, 
	unit VARCHAR NOT NULL, 
	level BIGINT NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "reorder_level" VALUES(27,'beef-tallow','mg',1000000);
CREATE TABLE reservation (
	entry_id INTEGER NOT NULL, 
	line INTEGER NOT NULL, 
	order_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	bars INTEGER NOT NULL, 
	PRIMARY KEY (entry_id, line), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(order_id) REFERENCES customer_order (entry_id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "reservation" VALUES(17,1,15,6,3);
CREATE TABLE retirement (
	entry_id INTEGER NOT NULL, 
	recipe_code VARCHAR NOT NULL, 
	retired BOOLEAN NOT NULL, 
	reason TEXT NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "retirement" VALUES(30,'DRF',1,'invented reason');
CREATE TABLE sale (
	entry_id INTEGER NOT NULL, 
	sold INTEGER NOT NULL, 
	buyer VARCHAR NOT NULL, 
	price_cents BIGINT NOT NULL, 
	discount_cents BIGINT NOT NULL, 
	postage_cents BIGINT NOT NULL, 
	tax_cents BIGINT NOT NULL, 
	currency VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(sold) REFERENCES entry (id)
);
INSERT INTO "sale" VALUES(20,20,'wholesale',450,50,0,0,'EUR');
CREATE TABLE spent (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER, 
	what VARCHAR NOT NULL, 
	minutes INTEGER, 
	amount_cents BIGINT, 
	currency VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "spent" VALUES(18,6,'work',95,NULL,'');
CREATE TABLE test_result (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	method VARCHAR NOT NULL, 
	passed BOOLEAN NOT NULL, 
	value VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "test_result" VALUES(9,6,'tongue',1,'no zap');
CREATE TABLE unmould (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	bars INTEGER NOT NULL, 
	rejects INTEGER NOT NULL, 
	counted_bars INTEGER NOT NULL, 
	counted_mass_mg BIGINT NOT NULL, 
	place VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "unmould" VALUES(7,6,12,1,12,1180000,'rack');
CREATE TABLE use_line (
	entry_id INTEGER NOT NULL, 
	line INTEGER NOT NULL, 
	lot_id INTEGER, 
	ingredient VARCHAR NOT NULL, 
	role VARCHAR NOT NULL, 
	mass_mg BIGINT NOT NULL, 
	bars INTEGER, 
	place VARCHAR, 
	PRIMARY KEY (entry_id, line), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "use_line" VALUES(3,1,2,'suet','fat',8000000,NULL,NULL);
INSERT INTO "use_line" VALUES(6,1,3,'beef-tallow','fat',1000000,NULL,NULL);
INSERT INTO "use_line" VALUES(6,2,NULL,'water','liquid',300000,NULL,NULL);
CREATE TABLE want (
	entry_id INTEGER NOT NULL, 
	customer VARCHAR NOT NULL, 
	recipe_code VARCHAR NOT NULL, 
	bars INTEGER NOT NULL, 
	contact VARCHAR NOT NULL, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id)
);
INSERT INTO "want" VALUES(28,'Invented Waiter','DRF',4,'');
CREATE TABLE weigh_in (
	entry_id INTEGER NOT NULL, 
	lot_id INTEGER NOT NULL, 
	bars INTEGER NOT NULL, 
	mass_mg BIGINT NOT NULL, 
	place VARCHAR, 
	room_c FLOAT, 
	room_rh FLOAT, 
	PRIMARY KEY (entry_id), 
	FOREIGN KEY(entry_id) REFERENCES entry (id), 
	FOREIGN KEY(lot_id) REFERENCES lot (id)
);
INSERT INTO "weigh_in" VALUES(8,6,12,1100000,NULL,17.5,NULL);
CREATE INDEX ix_entry_lot_id ON entry (lot_id);
CREATE INDEX ix_entry_happened_on ON entry (happened_on);
CREATE INDEX ix_lot_code ON lot (code);
CREATE INDEX ix_lot_item ON lot (item);
CREATE INDEX ix_posting_lot ON posting (lot_id, unit, place, quantity);
CREATE INDEX ix_posting_place ON posting (place, unit, quantity);
CREATE UNIQUE INDEX ux_recipe_version ON recipe_version (code, version);
CREATE INDEX ix_pour_recipe_entry_id ON pour (recipe_entry_id);
CREATE INDEX ix_use_line_lot_id ON use_line (lot_id);
CREATE INDEX ix_unmould_lot_id ON unmould (lot_id);
CREATE TRIGGER unmould_no_update BEFORE UPDATE ON unmould BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of unmould refused'); END;
CREATE TRIGGER unmould_no_delete BEFORE DELETE ON unmould BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of unmould refused'); END;
CREATE TRIGGER unmould_no_replace BEFORE INSERT ON unmould WHEN EXISTS (SELECT 1 FROM unmould WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: unmould row is there already'); END;
CREATE INDEX ix_weigh_in_lot_id ON weigh_in (lot_id);
CREATE TRIGGER weigh_in_no_update BEFORE UPDATE ON weigh_in BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of weigh_in refused'); END;
CREATE TRIGGER weigh_in_no_delete BEFORE DELETE ON weigh_in BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of weigh_in refused'); END;
CREATE TRIGGER weigh_in_no_replace BEFORE INSERT ON weigh_in WHEN EXISTS (SELECT 1 FROM weigh_in WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: weigh_in row is there already'); END;
CREATE INDEX ix_test_result_lot_id ON test_result (lot_id);
CREATE TRIGGER test_result_no_update BEFORE UPDATE ON test_result BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of test_result refused'); END;
CREATE TRIGGER test_result_no_delete BEFORE DELETE ON test_result BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of test_result refused'); END;
CREATE TRIGGER test_result_no_replace BEFORE INSERT ON test_result WHEN EXISTS (SELECT 1 FROM test_result WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: test_result row is there already'); END;
CREATE INDEX ix_decision_lot_id ON decision (lot_id);
CREATE TRIGGER decision_no_update BEFORE UPDATE ON decision BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of decision refused'); END;
CREATE TRIGGER decision_no_delete BEFORE DELETE ON decision BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of decision refused'); END;
CREATE TRIGGER decision_no_replace BEFORE INSERT ON decision WHEN EXISTS (SELECT 1 FROM decision WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: decision row is there already'); END;
CREATE INDEX ix_declared_weight_lot_id ON declared_weight (lot_id);
CREATE TRIGGER declared_weight_no_update BEFORE UPDATE ON declared_weight BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of declared_weight refused'); END;
CREATE TRIGGER declared_weight_no_delete BEFORE DELETE ON declared_weight BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of declared_weight refused'); END;
CREATE TRIGGER declared_weight_no_replace BEFORE INSERT ON declared_weight WHEN EXISTS (SELECT 1 FROM declared_weight WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: declared_weight row is there already'); END;
CREATE INDEX ix_photo_lot_id ON photo (lot_id);
CREATE TRIGGER photo_no_update BEFORE UPDATE ON photo BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of photo refused'); END;
CREATE TRIGGER photo_no_delete BEFORE DELETE ON photo BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of photo refused'); END;
CREATE TRIGGER photo_no_replace BEFORE INSERT ON photo WHEN EXISTS (SELECT 1 FROM photo WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: photo row is there already'); END;
CREATE INDEX ix_movement_lot_id ON movement (lot_id);
CREATE INDEX ix_movement_customer ON movement (customer);
CREATE INDEX ix_movement_order_ref ON movement (order_ref);
CREATE INDEX ix_customer_order_order_ref ON customer_order (order_ref);
CREATE INDEX ix_order_close_order_id ON order_close (order_id);
CREATE INDEX ix_reservation_lot_id ON reservation (lot_id);
CREATE INDEX ix_reservation_order_id ON reservation (order_id);
CREATE INDEX ix_label_run_lot_id ON label_run (lot_id);
CREATE INDEX ix_reorder_level_item ON reorder_level (item);
CREATE INDEX ix_want_recipe_code ON want (recipe_code);
CREATE INDEX ix_old_page_said_sha256 ON old_page (said_sha256);
CREATE INDEX ix_recall_run_lot_id ON recall_run (lot_id);
CREATE INDEX ix_spent_lot_id ON spent (lot_id);
CREATE INDEX ix_price_recipe_code ON price (recipe_code);
CREATE INDEX ix_retirement_recipe_code ON retirement (recipe_code);
CREATE INDEX ix_sale_sold ON sale (sold);
CREATE UNIQUE INDEX ux_invoice ON invoice (series, number);
CREATE INDEX ix_invoice_line_sold ON invoice_line (sold);
CREATE TRIGGER entry_no_update BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of entry refused'); END;
CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of entry refused'); END;
CREATE TRIGGER entry_no_replace BEFORE INSERT ON entry WHEN EXISTS (SELECT 1 FROM entry WHERE (id = NEW.id) OR (client_key = NEW.client_key) OR (undoes = NEW.undoes)) BEGIN SELECT RAISE(ABORT, 'append-only: entry row is there already'); END;
CREATE TRIGGER place_no_update BEFORE UPDATE ON place BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of place refused'); END;
CREATE TRIGGER place_no_delete BEFORE DELETE ON place BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of place refused'); END;
CREATE TRIGGER place_no_replace BEFORE INSERT ON place WHEN EXISTS (SELECT 1 FROM place WHERE (name = NEW.name)) BEGIN SELECT RAISE(ABORT, 'append-only: place row is there already'); END;
CREATE TRIGGER lot_no_update BEFORE UPDATE ON lot BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of lot refused'); END;
CREATE TRIGGER lot_no_delete BEFORE DELETE ON lot BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of lot refused'); END;
CREATE TRIGGER lot_no_replace BEFORE INSERT ON lot WHEN EXISTS (SELECT 1 FROM lot WHERE (id = NEW.id)) BEGIN SELECT RAISE(ABORT, 'append-only: lot row is there already'); END;
CREATE TRIGGER posting_no_update BEFORE UPDATE ON posting BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of posting refused'); END;
CREATE TRIGGER posting_no_delete BEFORE DELETE ON posting BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of posting refused'); END;
CREATE TRIGGER posting_no_replace BEFORE INSERT ON posting WHEN EXISTS (SELECT 1 FROM posting WHERE (entry_id = NEW.entry_id AND line = NEW.line)) BEGIN SELECT RAISE(ABORT, 'append-only: posting row is there already'); END;
CREATE TRIGGER recipe_version_no_update BEFORE UPDATE ON recipe_version BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of recipe_version refused'); END;
CREATE TRIGGER recipe_version_no_delete BEFORE DELETE ON recipe_version BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of recipe_version refused'); END;
CREATE TRIGGER recipe_version_no_replace BEFORE INSERT ON recipe_version WHEN EXISTS (SELECT 1 FROM recipe_version WHERE (entry_id = NEW.entry_id) OR (code = NEW.code AND version = NEW.version)) BEGIN SELECT RAISE(ABORT, 'append-only: recipe_version row is there already'); END;
CREATE TRIGGER receipt_no_update BEFORE UPDATE ON receipt BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of receipt refused'); END;
CREATE TRIGGER receipt_no_delete BEFORE DELETE ON receipt BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of receipt refused'); END;
CREATE TRIGGER receipt_no_replace BEFORE INSERT ON receipt WHEN EXISTS (SELECT 1 FROM receipt WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: receipt row is there already'); END;
CREATE TRIGGER pour_no_update BEFORE UPDATE ON pour BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of pour refused'); END;
CREATE TRIGGER pour_no_delete BEFORE DELETE ON pour BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of pour refused'); END;
CREATE TRIGGER pour_no_replace BEFORE INSERT ON pour WHEN EXISTS (SELECT 1 FROM pour WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: pour row is there already'); END;
CREATE TRIGGER use_line_no_update BEFORE UPDATE ON use_line BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of use_line refused'); END;
CREATE TRIGGER use_line_no_delete BEFORE DELETE ON use_line BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of use_line refused'); END;
CREATE TRIGGER use_line_no_replace BEFORE INSERT ON use_line WHEN EXISTS (SELECT 1 FROM use_line WHERE (entry_id = NEW.entry_id AND line = NEW.line)) BEGIN SELECT RAISE(ABORT, 'append-only: use_line row is there already'); END;
CREATE TRIGGER movement_no_update BEFORE UPDATE ON movement BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of movement refused'); END;
CREATE TRIGGER movement_no_delete BEFORE DELETE ON movement BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of movement refused'); END;
CREATE TRIGGER movement_no_replace BEFORE INSERT ON movement WHEN EXISTS (SELECT 1 FROM movement WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: movement row is there already'); END;
CREATE TRIGGER customer_order_no_update BEFORE UPDATE ON customer_order BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of customer_order refused'); END;
CREATE TRIGGER customer_order_no_delete BEFORE DELETE ON customer_order BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of customer_order refused'); END;
CREATE TRIGGER customer_order_no_replace BEFORE INSERT ON customer_order WHEN EXISTS (SELECT 1 FROM customer_order WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: customer_order row is there already'); END;
CREATE TRIGGER order_line_no_update BEFORE UPDATE ON order_line BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of order_line refused'); END;
CREATE TRIGGER order_line_no_delete BEFORE DELETE ON order_line BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of order_line refused'); END;
CREATE TRIGGER order_line_no_replace BEFORE INSERT ON order_line WHEN EXISTS (SELECT 1 FROM order_line WHERE (entry_id = NEW.entry_id AND line = NEW.line)) BEGIN SELECT RAISE(ABORT, 'append-only: order_line row is there already'); END;
CREATE TRIGGER order_close_no_update BEFORE UPDATE ON order_close BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of order_close refused'); END;
CREATE TRIGGER order_close_no_delete BEFORE DELETE ON order_close BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of order_close refused'); END;
CREATE TRIGGER order_close_no_replace BEFORE INSERT ON order_close WHEN EXISTS (SELECT 1 FROM order_close WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: order_close row is there already'); END;
CREATE TRIGGER reservation_no_update BEFORE UPDATE ON reservation BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of reservation refused'); END;
CREATE TRIGGER reservation_no_delete BEFORE DELETE ON reservation BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of reservation refused'); END;
CREATE TRIGGER reservation_no_replace BEFORE INSERT ON reservation WHEN EXISTS (SELECT 1 FROM reservation WHERE (entry_id = NEW.entry_id AND line = NEW.line)) BEGIN SELECT RAISE(ABORT, 'append-only: reservation row is there already'); END;
CREATE TRIGGER label_run_no_update BEFORE UPDATE ON label_run BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of label_run refused'); END;
CREATE TRIGGER label_run_no_delete BEFORE DELETE ON label_run BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of label_run refused'); END;
CREATE TRIGGER label_run_no_replace BEFORE INSERT ON label_run WHEN EXISTS (SELECT 1 FROM label_run WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: label_run row is there already'); END;
CREATE TRIGGER reorder_level_no_update BEFORE UPDATE ON reorder_level BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of reorder_level refused'); END;
CREATE TRIGGER reorder_level_no_delete BEFORE DELETE ON reorder_level BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of reorder_level refused'); END;
CREATE TRIGGER reorder_level_no_replace BEFORE INSERT ON reorder_level WHEN EXISTS (SELECT 1 FROM reorder_level WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: reorder_level row is there already'); END;
CREATE TRIGGER recall_run_no_update BEFORE UPDATE ON recall_run BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of recall_run refused'); END;
CREATE TRIGGER recall_run_no_delete BEFORE DELETE ON recall_run BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of recall_run refused'); END;
CREATE TRIGGER recall_run_no_replace BEFORE INSERT ON recall_run WHEN EXISTS (SELECT 1 FROM recall_run WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: recall_run row is there already'); END;
CREATE TRIGGER want_no_update BEFORE UPDATE ON want BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of want refused'); END;
CREATE TRIGGER want_no_delete BEFORE DELETE ON want BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of want refused'); END;
CREATE TRIGGER want_no_replace BEFORE INSERT ON want WHEN EXISTS (SELECT 1 FROM want WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: want row is there already'); END;
CREATE TRIGGER old_page_no_update BEFORE UPDATE ON old_page BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of old_page refused'); END;
CREATE TRIGGER old_page_no_delete BEFORE DELETE ON old_page BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of old_page refused'); END;
CREATE TRIGGER old_page_no_replace BEFORE INSERT ON old_page WHEN EXISTS (SELECT 1 FROM old_page WHERE (entry_id = NEW.entry_id AND line = NEW.line)) BEGIN SELECT RAISE(ABORT, 'append-only: old_page row is there already'); END;
CREATE TRIGGER spent_no_update BEFORE UPDATE ON spent BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of spent refused'); END;
CREATE TRIGGER spent_no_delete BEFORE DELETE ON spent BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of spent refused'); END;
CREATE TRIGGER spent_no_replace BEFORE INSERT ON spent WHEN EXISTS (SELECT 1 FROM spent WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: spent row is there already'); END;
CREATE TRIGGER price_no_update BEFORE UPDATE ON price BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of price refused'); END;
CREATE TRIGGER price_no_delete BEFORE DELETE ON price BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of price refused'); END;
CREATE TRIGGER price_no_replace BEFORE INSERT ON price WHEN EXISTS (SELECT 1 FROM price WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: price row is there already'); END;
CREATE TRIGGER retirement_no_update BEFORE UPDATE ON retirement BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of retirement refused'); END;
CREATE TRIGGER retirement_no_delete BEFORE DELETE ON retirement BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of retirement refused'); END;
CREATE TRIGGER retirement_no_replace BEFORE INSERT ON retirement WHEN EXISTS (SELECT 1 FROM retirement WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: retirement row is there already'); END;
CREATE TRIGGER sale_no_update BEFORE UPDATE ON sale BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of sale refused'); END;
CREATE TRIGGER sale_no_delete BEFORE DELETE ON sale BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of sale refused'); END;
CREATE TRIGGER sale_no_replace BEFORE INSERT ON sale WHEN EXISTS (SELECT 1 FROM sale WHERE (entry_id = NEW.entry_id)) BEGIN SELECT RAISE(ABORT, 'append-only: sale row is there already'); END;
CREATE TRIGGER invoice_no_update BEFORE UPDATE ON invoice BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of invoice refused'); END;
CREATE TRIGGER invoice_no_delete BEFORE DELETE ON invoice BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of invoice refused'); END;
CREATE TRIGGER invoice_no_replace BEFORE INSERT ON invoice WHEN EXISTS (SELECT 1 FROM invoice WHERE (entry_id = NEW.entry_id) OR (series = NEW.series AND number = NEW.number)) BEGIN SELECT RAISE(ABORT, 'append-only: invoice row is there already'); END;
CREATE TRIGGER invoice_line_no_update BEFORE UPDATE ON invoice_line BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE of invoice_line refused'); END;
CREATE TRIGGER invoice_line_no_delete BEFORE DELETE ON invoice_line BEGIN SELECT RAISE(ABORT, 'append-only: DELETE of invoice_line refused'); END;
CREATE TRIGGER invoice_line_no_replace BEFORE INSERT ON invoice_line WHEN EXISTS (SELECT 1 FROM invoice_line WHERE (entry_id = NEW.entry_id AND line = NEW.line)) BEGIN SELECT RAISE(ABORT, 'append-only: invoice_line row is there already'); END;
CREATE TRIGGER lot_no_twin BEFORE INSERT ON lot WHEN EXISTS (SELECT 1 FROM lot WHERE code = NEW.code AND NOT EXISTS (SELECT 1 FROM entry WHERE entry.undoes = lot.id)) BEGIN SELECT RAISE(ABORT, 'append-only: lot code is in use'); END;
COMMIT;
