// On a narrow screen the row of places scrolls: show the one we are at.
const lead = () => document.querySelector('.places [aria-current="page"]')?.scrollIntoView({ block: "nearest", inline: "center" });

document.addEventListener("shown", lead);
lead();
