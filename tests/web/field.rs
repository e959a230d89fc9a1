//! The page on a technician's phone as it is fetched: small, without anything of a person, the same for all.
use crate::support::World;
use serde_json::Value;

/// What the phone fetches to open the page, one language: shell, worker, sheet, icon, modules, texts.
fn addresses(shell: &str) -> Vec<String> {
    let found =
        shell.split(['"', ' ']).filter(|part| part.starts_with("/static/") || part.starts_with("/manifest"));
    found.map(str::to_owned).collect()
}

#[tokio::test]
async fn everything_of_the_page_weighs_sixty_kilobytes_at_most() {
    let world = World::new().await;
    let stranger = world.stranger();
    let shell = stranger.get("/field").await;
    let mut parts = addresses(shell.page());
    parts.extend(["/field".to_owned(), "/field-worker.js".to_owned()]);
    assert!(parts.len() > 20, "{parts:?}");
    let mut sum = 0;
    for path in &parts {
        let bytes = stranger.get_bytes(path).await;
        assert!(!bytes.is_empty(), "{path}");
        sum += bytes.len();
    }
    println!("{} files, {sum} bytes compressed", parts.len());
    assert!(sum <= 60 * 1024, "{sum} bytes");
}

#[tokio::test]
async fn the_worker_keeps_every_module_and_every_language() {
    let world = World::new().await;
    let (stranger, ines) = (world.stranger(), world.technician().await);
    let worker = stranger.get("/field-worker.js").await;
    assert_eq!(worker.headers["cache-control"], "no-cache");
    let files = worker.page().split("FILES = ").nth(1).unwrap().split(';').next().unwrap();
    let files: Vec<String> = serde_json::from_str(files).unwrap();
    let shell = stranger.get("/field").await;
    for address in addresses(shell.page()) {
        assert!(files.contains(&address), "{address} is not kept");
    }
    for file in &files {
        let answer = stranger.get(file).await;
        assert!(!answer.page().is_empty());
    }
    // Whoever asks is given the same: nothing of theirs is in it.
    assert_eq!(ines.get("/field").await.page(), shell.page());
    assert!(!shell.page().contains("Bellwether") && !shell.page().contains("csrf"));
    assert!(!shell.page().contains("style=") && !shell.page().contains("<script>"));
}

#[tokio::test]
async fn modules_name_each_other_and_nothing_that_is_not_served() {
    let world = World::new().await;
    let stranger = world.stranger();
    let shell = stranger.get("/field").await;
    let mut seen = 0;
    for address in addresses(shell.page()).iter().filter(|a| a.ends_with(".js")) {
        let source = stranger.get(address).await;
        for other in source.page().split("from \"./").skip(1) {
            let name = other.split('"').next().unwrap();
            let (folder, _) = address.rsplit_once('/').unwrap();
            stranger.get(&format!("{folder}/{name}")).await.page();
            seen += 1;
        }
    }
    assert!(seen > 30, "{seen} imports");
}

#[tokio::test]
async fn the_manifest_names_a_page_and_icons_that_are_there() {
    let world = World::new().await;
    let stranger = world.stranger();
    let answer = stranger.get("/manifest.webmanifest").await;
    assert_eq!(answer.headers["content-type"], "application/manifest+json");
    let manifest: Value = serde_json::from_str(answer.page()).unwrap();
    assert_eq!(
        (manifest["start_url"].as_str(), manifest["display"].as_str()),
        (Some("/field"), Some("standalone"))
    );
    for icon in manifest["icons"].as_array().unwrap() {
        let bytes = stranger.get_bytes(icon["src"].as_str().unwrap()).await;
        if icon["type"] == "image/png" {
            let picture = image::load_from_memory(&bytes).unwrap();
            assert_eq!(icon["sizes"], format!("{}x{}", picture.width(), picture.height()));
        }
    }
}

#[tokio::test]
async fn the_other_pages_of_a_technician_lead_there_and_work_without_script() {
    let world = World::new().await;
    let ines = world.technician().await;
    let page = ines.get("/visits").await;
    assert!(page.page().contains("/door.js") && page.page().contains(r#"<a href="/visits""#));
    assert!(!world.office().await.get("/due").await.page().contains("<script"));
    assert!(
        world.stranger().get("/sign-in").await.page().contains("/door.js"),
        "visits leave with their person"
    );
}
